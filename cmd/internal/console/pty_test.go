//go:build unix

package console

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/gdamore/tcell/v2"
	"golang.org/x/term"
)

// childMode, set in the environment, makes the test binary a console on its terminal.
const childMode = "FEEDLINE_CONSOLE_CHILD"

func TestMain(m *testing.M) {
	if mode := os.Getenv(childMode); mode != "" {
		child(mode)
		return
	}
	os.Exit(m.Run())
}

// child runs a console on the terminal; in the mode "panic" its planner panics.
func child(mode string) {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	n := needs(newShelf(plant()), &sums{}, map[string]string{})
	opt := Options{Needs: n, Look: Look{Colour: os.Getenv("NO_COLOR") == "", ASCII: !strings.Contains(os.Getenv("LC_ALL"), "UTF-8")}}
	switch mode {
	case "guard":
		if err := GuardTerminal(os.Stdin, os.Stdout, os.Stderr); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
		return
	case "panic":
		opt.ready = func(c *console) {
			c.background(func() func() { panic("a fault in the background") })
		}
	case "solver":
		begun := make(chan struct{})
		var once sync.Once
		opt.drawn = func(tcell.Screen) { once.Do(func() { close(begun) }) }
		opt.ready = func(c *console) {
			c.background(func() func() {
				<-begun
				time.Sleep(200 * time.Millisecond) // the frame is written
				var wait sync.WaitGroup
				wait.Go(func() { panic("a fault of a solver") })
				wait.Wait()
				return nil
			})
		}
	}
	opt.Guard = exec.Command(os.Args[0])
	opt.Guard.Env = append(os.Environ(), childMode+"=guard")
	if err := Run(ctx, opt); err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Println("left in order")
}

// terminal is a child on a pseudo-terminal.
type terminal struct {
	t    *testing.T
	cmd  *exec.Cmd
	pty  *os.File
	mu   sync.Mutex
	out  strings.Builder
	tty  *os.File
	was  *term.State
	done chan struct{}
}

func spawn(t *testing.T, mode string, env ...string) *terminal {
	t.Helper()
	p, tty, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminal: %v", err)
	}
	if err := pty.Setsize(p, &pty.Winsize{Rows: 24, Cols: 80}); err != nil {
		t.Fatal(err)
	}
	was, err := term.GetState(int(tty.Fd()))
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), append([]string{childMode + "=" + mode, "TERM=xterm-256color", "LC_ALL=C.UTF-8"}, env...)...)
	c.Stdin, c.Stdout, c.Stderr = tty, tty, tty
	c.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	x := &terminal{t: t, cmd: c, pty: p, tty: tty, was: was, done: make(chan struct{})}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(x.done)
		buf := make([]byte, 4096)
		for {
			n, err := p.Read(buf)
			x.mu.Lock()
			x.out.Write(buf[:n])
			x.mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	t.Cleanup(func() { _ = c.Process.Kill(); tty.Close(); p.Close() })
	return x
}

func (x *terminal) text() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.out.String()
}

// until waits for a text to be written.
func (x *terminal) until(want string) {
	x.t.Helper()
	for end := time.Now().Add(time.Minute); !strings.Contains(x.text(), want); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			x.t.Fatalf("%q was not written: %q", want, x.text())
		}
	}
}

// restored fails the test unless the terminal is as it was before: its modes, the screen behind the console's, the cursor.
func (x *terminal) restored() {
	x.t.Helper()
	_ = x.cmd.Wait()
	now, err := term.GetState(int(x.tty.Fd()))
	if err != nil {
		x.t.Fatal(err)
	}
	if fmt.Sprint(*now) != fmt.Sprint(*x.was) {
		x.t.Errorf("the terminal's modes are %v, were %v", *now, *x.was)
	}
	out := x.text()
	for _, c := range [][2]string{{"\x1b[?1049h", "\x1b[?1049l"}, {"\x1b[?25l", "\x1b[?25h"}} {
		if strings.LastIndex(out, c[0]) > strings.LastIndex(out, c[1]) {
			x.t.Errorf("%q was written and not taken back with %q", c[0], c[1])
		}
	}
	if strings.Contains(out, "\x1b[?1000h") {
		x.t.Error("the mouse was taken without being asked for")
	}
}

// TestTerminalAfterLeaving: by q, by a signal, after a panic in the background, the terminal is as it was.
func TestTerminalAfterLeaving(t *testing.T) {
	x := spawn(t, "plain")
	x.until("Run 5 of 6")
	_, _ = io.WriteString(x.pty, "q")
	x.until("left in order")
	x.restored()

	x = spawn(t, "plain")
	x.until("Run 5 of 6")
	_ = x.cmd.Process.Signal(syscall.SIGTERM)
	x.until("left in order")
	x.restored()

	x = spawn(t, "panic")
	x.until("a fault in the background")
	x.until("console.child.func") // where it came up
	x.restored()
	at, behind := strings.Index(x.text(), "\x1b[?1049l"), strings.LastIndex(x.text(), "a fault in the background")
	if at < 0 || behind < at {
		t.Error("the panic is told before the terminal is put right: nobody would see it")
	}
	if !strings.Contains(x.text()[max(at, 0):], "console.child.func") {
		t.Error("where it came up is not told")
	}
}

// TestTerminalAfterWorse: after a fault in a goroutine that the console did not start, and after a kill, the guard puts the terminal
// right, and what the fault said stands below.
func TestTerminalAfterWorse(t *testing.T) {
	x := spawn(t, "solver")
	x.until("Run 5 of 6")
	x.until("a draft that was not saved is offered")
	x.restored()
	end := strings.LastIndex(x.text(), "\x1b[?1049l")
	for _, want := range []string{"panic: a fault of a solver", "goroutine ", "pty_test.go"} {
		if !strings.Contains(x.text()[end:], want) {
			t.Errorf("%q is not to be read once the terminal is right:\n%s", want, x.text()[end:])
		}
	}

	x = spawn(t, "plain")
	x.until("Run 5 of 6")
	_ = x.cmd.Process.Kill()
	x.until("the console was ended from outside")
	x.restored()
}

// TestClipboardIsOSC52: a copied row reaches the terminal as OSC 52.
func TestClipboardIsOSC52(t *testing.T) {
	x := spawn(t, "plain")
	x.until("Run 5 of 6")
	_, _ = io.WriteString(x.pty, "4y")
	x.until("\x1b]52;c;")
	_, _ = io.WriteString(x.pty, "q")
	x.until("left in order")
}

// TestNoColourOnTheWire: under NO_COLOR no colour is written.
func TestNoColourOnTheWire(t *testing.T) {
	x := spawn(t, "plain", "NO_COLOR=1")
	x.until("Run 5 of 6")
	_, _ = io.WriteString(x.pty, "2347q")
	x.until("left in order")
	for _, code := range []string{"\x1b[3", "\x1b[38", "\x1b[48", "\x1b[9"} {
		for _, rest := range strings.Split(x.text(), code)[1:] {
			if end := strings.IndexByte(rest, 'm'); end >= 0 && end < 6 && strings.Trim(rest[:end], "0123456789;:") == "" && rest[:end] != "9" && rest[:end] != "9;49" {
				t.Errorf("a colour is written: %q", code+rest[:end+1])
			}
		}
	}
}

// TestRecordsOnATerminal: a form takes its keys as a terminal sends them: page keys, Ctrl-S.
func TestRecordsOnATerminal(t *testing.T) {
	x := spawn(t, "plain")
	x.until("Run 5 of 6")
	_, _ = io.WriteString(x.pty, "6d")
	x.until("New ETA")
	_, _ = io.WriteString(x.pty, "\x1b[6~\x13") // PgDn, Ctrl-S
	x.until("Recorded: eta")
	_, _ = io.WriteString(x.pty, "q")
	x.until("left in order")
}
