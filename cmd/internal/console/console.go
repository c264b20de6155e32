package console

import (
	"context"
	"fmt"
	"os/exec"
	"time"

	"github.com/gdamore/tcell/v2"
	_ "github.com/gdamore/tcell/v2/encoding" // of locales that are not UTF-8
	"github.com/rivo/tview"

	"feedline/cmd/internal/console/rows"
)

// Options are how the console runs.
type Options struct {
	Needs
	Look
	Screen tcell.Screen // nil: the terminal
	First  string       // name of the screen to begin with; "" = today
	Guard  *exec.Cmd    // is to call GuardTerminal, see there; nil = none

	drawn func(tcell.Screen) // after each frame, for tests
	ready func(*console)     // before the first frame, for tests
}

// console is the running console: what is on the terminal, and the session.
type console struct {
	*session
	look    Look
	ui      *tview.Application
	views   []*view
	at      int   // which of them is shown
	modal   modal // what has the keyboard in place of the screen; nil as a rule
	clip    func(string)
	pressed string            // name of the key in hand
	entries []int64           // records made here, to be taken back
	used    map[string]string // line, step, grade and shift of the last record made here
	repaint bool              // the terminal is to be drawn anew
	updates chan func()
	done    chan struct{}
}

// screens are all, in their order; each has its file.
var screens []screen

func init() {
	keys := map[string][]binding{"today": todayKeys, "lines": linesKeys, "feed": feedKeys, "orders": ordersKeys, "supply": supplyKeys, "records": recordsKeys, "changes": changesKeys}
	for _, s := range rows.Screens {
		screens = append(screens, screen{s, keys[s.Name]})
	}
}

// Run shows the console until it is left or ctx is cancelled. The terminal is as it was afterwards, also after a panic.
func Run(ctx context.Context, opt Options) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	defer favourKeys()()
	g := startGuard(opt.Guard)
	defer g.leave() // also after a panic of this goroutine, of which tview has put the terminal right
	c := &console{look: opt.Look, used: map[string]string{}, updates: make(chan func(), 64), done: make(chan struct{})}
	var err error
	if c.session, err = newSession(ctx, opt.Needs, c.send); err != nil {
		return err
	}
	tcell.SetEncodingFallback(tcell.EncodingFallbackASCII)
	c.ui = tview.NewApplication()
	if opt.Screen != nil {
		c.ui.SetScreen(opt.Screen)
	}
	for i, s := range screens {
		c.views = append(c.views, newView(s, opt.Look))
		if s.Name == opt.First {
			c.at = i
		}
	}
	c.ui.SetRoot(&frame{Box: tview.NewBox(), c: c}, true)
	c.ui.SetInputCapture(func(e *tcell.EventKey) *tcell.EventKey { c.key(e); return nil })
	c.clip = func(string) {}
	first := true
	c.ui.SetAfterDrawFunc(func(s tcell.Screen) {
		if c.look.ASCII {
			toASCII(s)
		}
		if c.repaint {
			c.repaint = false
			s.Sync()
		}
		if first {
			first = false
			c.clip = func(text string) { s.SetClipboard([]byte(text)) }
			c.loadPromise()
			c.loadKnown()
		}
		if opt.drawn != nil {
			opt.drawn(s)
		}
	})
	if opt.ready != nil {
		opt.ready(c)
	}
	c.offerDrafts()
	g.await()
	go c.pump(ctx)
	if err = c.ui.Run(); err != nil {
		err = fmt.Errorf("the console needs a terminal: %w", err)
	}
	close(c.done)
	if fault := c.flushDraft(); err == nil {
		err = fault
	}
	return err
}

// send hands f to the goroutine of the terminal.
func (c *console) send(f func()) {
	select {
	case c.updates <- f:
	case <-c.done:
	}
}

// redraw is the time between frames while a plan is being made.
const redraw = 200 * time.Millisecond

// pump runs what is sent on the terminal's goroutine, keeps the clock of a plan being made going, looks at the book now and then and
// leaves when ctx is cancelled.
func (c *console) pump(ctx context.Context) {
	tick, look := time.NewTicker(redraw), time.NewTicker(lookEvery)
	defer tick.Stop()
	defer look.Stop()
	planning := false
	for {
		select {
		case f := <-c.updates:
			c.ui.QueueUpdateDraw(func() { f(); planning = c.solve != nil })
		case <-tick.C:
			c.ui.QueueUpdate(func() { planning = c.solve != nil })
			if planning {
				c.ui.QueueUpdateDraw(func() {})
			}
		case <-look.C:
			c.ui.QueueUpdate(func() { c.session.keepTime(); c.session.look() })
		case <-ctx.Done():
			c.ui.QueueUpdate(c.ui.Stop) // not from here: before the terminal is there, Stop would do nothing
			return
		case <-c.done:
			return
		}
	}
}

// view is the screen shown.
func (c *console) view() *view { return c.views[c.at] }

// key does what a key stands for. What can't be done just now says why.
func (c *console) key(e *tcell.EventKey) {
	name := keyName(e)
	c.pressed = name
	if c.modal != nil {
		if name == "Ctrl-C" && c.halt() {
			return
		}
		if m := c.modal; m.key(c, e) && c.modal == m {
			c.modal = nil
		}
		return
	}
	c.note = note{}
	v := c.view()
	v.show(c.facts)
	b := v.find(name)
	switch {
	case b == nil:
		c.say("%s does nothing here; ? lists the keys.", name)
	case b.off != nil && b.off(c, v) != "":
		c.note = note{fmt.Sprintf("%s: not now: %s", b.keys[0], b.off(c, v)), rows.Alert}
	case b.move:
		v.move(e)
	case b.danger:
		c.ask(b.question(c, v), func() { b.do(c, v) })
	default:
		b.do(c, v)
	}
}

// move hands a key of movement to the table with the keyboard.
func (v *view) move(e *tcell.EventKey) {
	g := v.grid()
	if g == nil || !g.canMove() {
		return
	}
	switch name := keyName(e); {
	case g.shown.Fixed > 0 && (name == "Left" || name == "h"):
		g.sideways(-1)
		return
	case g.shown.Fixed > 0 && (name == "Right" || name == "l"):
		g.sideways(1)
		return
	case name == "Left", name == "Right", name == "h", name == "l":
		return
	case name == "Home":
		e = event("g")
	case name == "End":
		e = event("G")
	}
	g.InputHandler()(e, func(tview.Primitive) {})
	r, _ := g.GetSelection()
	g.pick(r - 1)
}

// go to a screen.
func (c *console) turnTo(i int) {
	c.at = (i + len(c.views)) % len(c.views)
}

// quit leaves, after a question if there is a draft.
func (c *console) quit() {
	if n := len(c.draft.steps); n > 0 {
		c.ask(fmt.Sprintf("Leave? The draft's %s would be lost.", plural(n, "edit")), func() { c.forgetDraft(); c.ui.Stop() })
		return
	}
	c.ui.Stop()
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
