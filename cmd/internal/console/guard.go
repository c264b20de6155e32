package console

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime/debug"

	"golang.org/x/term"
)

// A console that ends by a fault in a goroutine that is not its own, such as a solver's, or that is killed, can put nothing right
// itself. A second process, the guard, does it: it remembers the terminal as it was and reads a pipe of which the console has the
// other end. What the Go runtime says at a crash goes there too. If the pipe ends with the word left, all is well; if it ends
// otherwise the guard restores the terminal and then prints what the crash said.

// guard is the guard as the console holds it; nil is none.
type guard struct {
	cmd   *exec.Cmd
	pipe  *os.File
	ready io.ReadCloser
}

// left is the word at which the guard has nothing to do.
const left = "the console was left\n"

// mostCrash is the longest report of a crash that is printed, bytes.
const mostCrash = 8 << 20

// startGuard starts cmd, which is to call GuardTerminal; nil if that can't be done.
func startGuard(cmd *exec.Cmd) *guard {
	if cmd == nil {
		return nil
	}
	r, w, err := os.Pipe()
	if err != nil {
		return nil
	}
	defer r.Close() // the guard has its own
	cmd.Stdin, cmd.Stderr = r, os.Stdout
	g := &guard{cmd: cmd, pipe: w}
	if g.ready, err = cmd.StdoutPipe(); err == nil {
		err = cmd.Start()
	}
	if err != nil {
		w.Close()
		return nil
	}
	return g
}

// await waits until the guard has seen the terminal, before anything is changed of it.
func (g *guard) await() {
	if g == nil {
		return
	}
	_, _ = g.ready.Read(make([]byte, 1))
	_ = debug.SetCrashOutput(g.pipe, debug.CrashOptions{})
}

// leave lets the guard go: the terminal is as it was.
func (g *guard) leave() {
	if g == nil {
		return
	}
	_ = debug.SetCrashOutput(nil, debug.CrashOptions{})
	_, _ = io.WriteString(g.pipe, left)
	g.pipe.Close()
	_ = g.cmd.Wait() // it ends with the pipe
}

// putRight leaves the alternate screen, shows the cursor, and ends colours, the mouse and bracketed paste.
const putRight = "\x1b[?1000l\x1b[?1002l\x1b[?1003l\x1b[?1006l\x1b[?2004l\x1b[?1l\x1b>\x1b[0m\x1b[?25h\x1b[?1049l"

// GuardTerminal is the guard: it writes a byte to ready once it has seen how tty is, reads pipe to its end and puts tty right unless
// the console did.
func GuardTerminal(pipe io.Reader, ready io.Writer, tty *os.File) error {
	ignoreSignals()
	was, err := term.GetState(int(tty.Fd()))
	if err != nil {
		return err
	}
	if _, err := ready.Write([]byte{'.'}); err != nil {
		return err
	}
	said, restored := make([]byte, 0, 4096), false
	restore := func() {
		if !restored {
			restored = true
			_ = term.Restore(int(tty.Fd()), was)
			_, _ = io.WriteString(tty, putRight)
		}
	}
	for buf := make([]byte, 4096); ; {
		n, err := pipe.Read(buf)
		if len(said) < mostCrash {
			said = append(said, buf[:n]...)
		}
		if n > 0 && string(said) != left[:min(len(said), len(left))] {
			restore() // at once, before a shell looks at it
		}
		if err != nil {
			break
		}
	}
	if string(said) == left {
		return nil
	}
	restore()
	if len(said) == 0 {
		said = []byte("feedline: the console was ended from outside.\n")
	}
	_, err = fmt.Fprintf(tty, "\n%s\nfeedline: a draft that was not saved is offered when the console is next started.\n", said)
	return err
}
