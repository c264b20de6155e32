//go:build linux

package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"time"

	"github.com/creack/pty"
)

// user is somebody at a console on a pseudo-terminal.
type user struct {
	s      *soak
	name   string
	random *rand.Rand
	glass  glass
	pty    *os.File
	cmd    *exec.Cmd
	ended  chan struct{}
}

// errEnded says that the console is gone, by a kill or because it was left.
var errEnded = errors.New("the console has ended")

// console is a user who opens a console, looks at every screen, makes a draft, releases it, leaves, and begins again.
func (s *soak) console(name string, seed uint64) func(context.Context) {
	return func(ctx context.Context) {
		random := rand.New(rand.NewPCG(seed, 9))
		for ctx.Err() == nil {
			u := &user{s: s, name: name, random: random, ended: make(chan struct{})}
			err := u.start()
			if err == nil {
				err = u.session(ctx)
				u.leave(err)
			}
			if err != nil && !errors.Is(err, errEnded) && ctx.Err() == nil {
				s.wrong(name, u.glass.text(), err)
			}
			select {
			case <-ctx.Done():
			case <-time.After(500 * time.Millisecond):
			}
		}
	}
}

// start opens the console.
func (u *user) start() error {
	p, tty, err := pty.Open()
	if err != nil {
		return err
	}
	defer tty.Close()
	if err := pty.Setsize(p, &pty.Winsize{Rows: 24, Cols: 80}); err != nil {
		return err
	}
	c := exec.Command("nice", "-n", "10", u.s.program, "console", "--work", "400000")
	c.Dir = u.s.dir
	c.Env = append(os.Environ(), "GOMAXPROCS=1", "FEEDLINE_BOOK=plant.book", "TERM=xterm-256color", "LC_ALL=C.UTF-8")
	c.Stdin, c.Stdout, c.Stderr = tty, tty, tty
	c.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	u.s.mu.Lock()
	defer u.s.mu.Unlock()
	if err := c.Start(); err != nil {
		return err
	}
	u.s.alive[c] = "console"
	u.pty, u.cmd = p, c
	said := make(chan struct{})
	go func() {
		defer close(said)
		_, _ = io.Copy(&u.glass, p)
	}()
	go func() {
		err := c.Wait()
		u.s.mu.Lock()
		delete(u.s.alive, c)
		u.s.count["console"]++
		u.s.cpu += c.ProcessState.UserTime() + c.ProcessState.SystemTime()
		shot := u.s.shot[c]
		u.s.mu.Unlock()
		select { // the guard may still have a word to say
		case <-said:
		case <-time.After(5 * time.Second):
		}
		if err != nil && !shot {
			u.s.wrong(u.name, u.glass.text(), err)
		}
		if text := u.glass.text(); strings.Contains(text, "panic") || strings.Contains(text, "database is locked") {
			u.s.wrong(u.name, text, errors.New("it said what nobody should read"))
		}
		close(u.ended)
		p.Close()
	}()
	return nil
}

func (u *user) counted(what string) {
	u.s.mu.Lock()
	u.s.count[what]++
	u.s.mu.Unlock()
}

// keys presses keys.
func (u *user) keys(text string) { _, _ = io.WriteString(u.pty, text) }

// until waits until one of some texts is shown, and returns which.
func (u *user) until(want ...string) (string, error) { return u.within(2*time.Minute, want...) }

// within is until for a time of one's own.
func (u *user) within(long time.Duration, want ...string) (string, error) {
	for end := time.Now().Add(long); ; time.Sleep(20 * time.Millisecond) {
		text := u.glass.text()
		for _, w := range want {
			if strings.Contains(text, w) {
				return w, nil
			}
		}
		select {
		case <-u.ended:
			return "", errEnded
		default:
		}
		if time.Now().After(end) {
			return "", fmt.Errorf("none of %q is shown, but %q", want, text)
		}
	}
}

// What the console shows: the name of its first screen, the offer of a draft that was left, and what comes of a release.
const (
	shownFirst   = "[1 Today]"
	shownOffer   = "Take it up?"
	shownKeys    = "? keys"
	shownRelease = "It becomes the promise"
	shownDone    = "Released: the plan is the promise now"
	shownStale   = "nothing was saved"
	shownWait    = "a: not now"
)

// session is what is done at one console.
func (u *user) session(ctx context.Context) error {
	if _, err := u.until(shownFirst); err != nil {
		return err
	}
	if shown, err := u.until(shownOffer, shownKeys); err != nil { // the last line of the first frame: the rest has come
		return err
	} else if shown == shownOffer {
		key := []string{"y", "n", "d"}[u.random.IntN(3)]
		u.keys(key)
		u.counted("draft offered, " + key)
	}
	for i, title := range []string{"Lines", "Feed", "Orders", "Supply", "Records", "Changes", "Today"} {
		n := (i+1)%7 + 1
		if err := u.turnTo(fmt.Sprint(n), fmt.Sprintf("[%d %s]", n, title)); err != nil {
			return err
		}
		u.keys("jjkGg\t")
	}
	crew := 3 + u.random.IntN(6)
	u.keys("w")
	if _, err := u.until("Enter does it"); err != nil {
		return err
	}
	u.keys(fmt.Sprintf("crew %d\r", crew))
	if _, err := u.until("DRAFT"); err != nil {
		return err
	}
	u.counted("draft made")
	if u.random.IntN(4) == 0 { // left with its draft
		u.keys("qy")
		return nil
	}
	return u.release(ctx)
}

// turnTo presses the key of a screen until it is shown: the first may go to the offer of another draft.
func (u *user) turnTo(key, title string) (err error) {
	for range 20 {
		u.keys(key)
		if _, err = u.within(6*time.Second, title); err == nil || errors.Is(err, errEnded) {
			return err
		}
	}
	return err
}

// release makes the draft the promise, on the book as it is now if it has changed.
func (u *user) release(ctx context.Context) error {
	u.keys("7")
	if _, err := u.until("[7 Changes]"); err != nil {
		return err
	}
	for ctx.Err() == nil {
		u.keys("a")
		shown, err := u.until(shownRelease, shownWait)
		if err != nil {
			return err
		}
		if shown == shownWait {
			time.Sleep(300 * time.Millisecond)
			u.keys("h") // takes the words away
			if strings.Contains(u.glass.text(), "the plan shown is not of these records") {
				u.keys("r")
			}
			continue
		}
		u.keys("y")
		if shown, err = u.until(shownDone, shownStale, "released by"); err != nil {
			return err
		}
		if shown == shownDone {
			u.counted("released")
			u.keys("q")
			return nil
		}
		u.counted("release refused, book changed")
		u.keys("r")
		if _, err := u.until("The book is taken in"); err != nil {
			return err
		}
	}
	return nil
}

// leave ends the console: in order where it can, else by SIGTERM.
func (u *user) leave(err error) {
	for _, try := range []func(){func() {}, func() { u.keys("\x1b") }, func() { u.keys("q") }, func() { u.keys("y") },
		func() { _ = u.cmd.Process.Signal(syscall.SIGCONT); _ = u.cmd.Process.Signal(syscall.SIGTERM) }} {
		try()
		select {
		case <-u.ended:
			return
		case <-time.After(5 * time.Second):
		}
	}
	select {
	case <-u.ended:
	case <-time.After(time.Minute):
		u.s.wrong(u.name, u.glass.text(), errors.New("the console does not end at SIGTERM"))
		_ = u.cmd.Process.Kill()
		<-u.ended
	}
}
