//go:build unix

package console

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

var servers int

// inTmux runs a child in a terminal of tmux and returns what it shows after some keys, with its escapes.
func inTmux(t *testing.T, env string, keys ...string) string {
	t.Helper()
	if _, err := exec.LookPath("tmux"); err != nil {
		if os.Getenv("FEEDLINE_CI") != "" {
			t.Fatal("tmux is missing")
		}
		t.Skip("no tmux")
	}
	servers++ // each its own server: one that is ending would take the next session with it
	server := fmt.Sprintf("feedline-%d-%d", os.Getpid(), servers)
	tmux := func(args ...string) string {
		out, err := exec.Command("tmux", append([]string{"-u", "-L", server, "-f", "/dev/null"}, args...)...).CombinedOutput()
		if err != nil {
			t.Fatalf("tmux %v: %v: %s", args, err, out)
		}
		return string(out)
	}
	tmux("new-session", "-d", "-x", "80", "-y", "24", fmt.Sprintf("env %s=plain %s '%s'; sleep 60", childMode, env, os.Args[0]))
	defer func() { _ = exec.Command("tmux", "-L", server, "kill-server").Run() }()
	until := func(want string) string {
		for end := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
			if s := tmux("capture-pane", "-p", "-e"); strings.Contains(s, want) {
				return s
			} else if time.Now().After(end) {
				t.Fatalf("%q is not shown:\n%s", want, s)
			}
		}
	}
	shown := until("Run 5 of 6")
	for _, k := range keys {
		tmux("send-keys", k)
	}
	if len(keys) > 0 {
		shown = until("3 Feed]")
	}
	tmux("send-keys", "q")
	until("left in order")
	return shown
}

// TestTmuxNoColor: under NO_COLOR what is selected is in reverse with a sign beside it, and nothing has a colour.
func TestTmuxNoColor(t *testing.T) {
	s := inTmux(t, "NO_COLOR=1 LC_ALL=C.UTF-8")
	if !strings.Contains(s, "▸WH") || !strings.Contains(s, "\x1b[7m") {
		t.Errorf("the selected row is not marked by sign and reverse:\n%s", s)
	}
	for _, code := range []string{"\x1b[31m", "\x1b[32m", "\x1b[33m", "\x1b[36m", "\x1b[38", "\x1b[40m"} {
		if strings.Contains(s, code) {
			t.Errorf("%q is a colour:\n%s", code, s)
		}
	}
}

// TestTmuxASCII: in a locale that is not UTF-8 the screen holds ASCII alone, signs among it.
func TestTmuxASCII(t *testing.T) {
	for _, locale := range []string{"C", "POSIX", "de_DE.ISO-8859-1"} {
		s := inTmux(t, "LC_ALL="+locale, "3")
		for _, r := range s {
			if r > 0x7f {
				t.Errorf("%s: %q is not ASCII:\n%s", locale, r, s)
				break
			}
		}
		if !strings.Contains(s, "..o-") {
			t.Errorf("%s: no axis is drawn:\n%s", locale, s)
		}
	}
}
