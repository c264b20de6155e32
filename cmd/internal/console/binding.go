package console

import (
	"strconv"

	"github.com/gdamore/tcell/v2"
)

// binding is what a key does, as data: the bar at the foot, the page behind ? and README.md are made of it.
type binding struct {
	keys []string // by the names of keyName; the first one is shown in the bar
	verb string   // in a word or two, for the bar; "" keeps it out of the bar
	help string
	// danger: it asks first, and the answer to nothing said is no. Its question says what would happen.
	danger   bool
	question func(*console, *view) string
	off      func(*console, *view) string // why it can't be used just now, "" if it can; nil: always
	do       func(*console, *view)
	move     bool // moves the selection: the table in hand sees to it
}

// keyName is the name of a key as the bindings have it.
func keyName(e *tcell.EventKey) string {
	switch e.Key() {
	case tcell.KeyRune:
		if e.Rune() == ' ' {
			return "Space"
		}
		return string(e.Rune())
	case tcell.KeyEnter:
		return "Enter"
	case tcell.KeyEscape:
		return "Esc"
	case tcell.KeyTab:
		return "Tab"
	case tcell.KeyBacktab:
		return "Shift-Tab"
	case tcell.KeyCtrlC:
		return "Ctrl-C"
	case tcell.KeyCtrlL:
		return "Ctrl-L"
	case tcell.KeyPgUp:
		return "PgUp"
	case tcell.KeyPgDn:
		return "PgDn"
	case tcell.KeyHome:
		return "Home"
	case tcell.KeyEnd:
		return "End"
	case tcell.KeyUp:
		return "Up"
	case tcell.KeyDown:
		return "Down"
	case tcell.KeyLeft:
		return "Left"
	case tcell.KeyRight:
		return "Right"
	}
	if k := e.Key(); k >= tcell.KeyCtrlA && k <= tcell.KeyCtrlZ { // terminals report them with a modifier, which Name adds in its own way
		return "Ctrl-" + string(rune('A'+k-tcell.KeyCtrlA))
	}
	return e.Name()
}

// event is the key of a name: keyName the other way round.
func event(name string) *tcell.EventKey {
	for _, k := range []tcell.Key{tcell.KeyEnter, tcell.KeyEscape, tcell.KeyTab, tcell.KeyBacktab, tcell.KeyCtrlC, tcell.KeyCtrlL, tcell.KeyCtrlS, tcell.KeyPgUp, tcell.KeyPgDn,
		tcell.KeyHome, tcell.KeyEnd, tcell.KeyUp, tcell.KeyDown, tcell.KeyLeft, tcell.KeyRight} {
		if e := tcell.NewEventKey(k, 0, tcell.ModNone); keyName(e) == name {
			return e
		}
	}
	if name == "Space" {
		return tcell.NewEventKey(tcell.KeyRune, ' ', tcell.ModNone)
	}
	return tcell.NewEventKey(tcell.KeyRune, []rune(name)[0], tcell.ModNone)
}

// find is the binding of a key: the screen's own, else one that all have.
func (v *view) find(key string) *binding {
	for _, list := range [][]binding{v.bindings, everywhere} {
		for i := range list {
			for _, k := range list[i].keys {
				if k == key {
					return &list[i]
				}
			}
		}
	}
	return nil
}

// Key is a line of the table of keys.
type Key struct {
	Screen string // "" for those of every screen
	Keys   string
	Does   string
}

// Keys is the table of keys, those of every screen first.
func Keys() []Key {
	list := keysOf("", everywhere)
	for _, s := range screens {
		list = append(list, keysOf(s.Title, s.bindings)...)
	}
	return list
}

func keysOf(screen string, bindings []binding) (list []Key) {
	for _, b := range bindings {
		keys := ""
		for i, k := range b.keys {
			if i > 0 {
				keys += " "
			}
			keys += k
		}
		does := b.help
		if b.danger {
			does += " (asks first)"
		}
		list = append(list, Key{screen, keys, does})
	}
	return list
}

func itoa(n int) string { return strconv.Itoa(n) }
