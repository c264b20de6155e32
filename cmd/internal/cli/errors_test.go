package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"
	"testing"
	"time"

	"feedline/cmd/internal/book"
	"feedline/planner"
)

// What the machine refuses has failed, exit code 1; what was named or handed in wrongly is a mistake, 2. Both get a hint.
func TestJudge(t *testing.T) {
	open := func(reason error) error {
		return fmt.Errorf("load: %w", &book.OpenError{Path: "plant.book", Reason: "is not usable", Remedy: "do this", Err: reason})
	}
	for _, c := range []struct {
		err  error
		code int
		hint string
	}{
		{open(errors.Join(book.ErrDisk, errors.New("no space"))), exitFail, "do this"},
		{open(errors.Join(book.ErrBusy, errors.New("locked"))), exitFail, "do this"},
		{open(fs.ErrPermission), exitFail, "do this"},
		{open(fs.ErrNotExist), exitUsage, "do this"},
		{open(fs.ErrExist), exitUsage, "do this"},
		{open(book.ErrNotDatabase), exitUsage, "do this"},
		{&fs.PathError{Op: "write", Path: "r.html", Err: syscall.ENOSPC}, exitFail, "make room"},
		{&fs.PathError{Op: "write", Path: "r.html", Err: syscall.EROFS}, exitFail, "name another place"},
		{&fs.PathError{Op: "open", Path: "r.html", Err: syscall.EACCES}, exitFail, "ask for access"},
		{&fs.PathError{Op: "open", Path: "plant.csv", Err: syscall.ENOENT}, exitUsage, "check the path"},
		{planner.ErrOutdated, exitFail, "plan again: feedline plan"},
	} {
		code, hint := (&app{}).judge(c.err)
		if code != c.code || !strings.Contains(hint, c.hint) {
			t.Errorf("%v: exit code %d, hint %q; want %d, %q", c.err, code, hint, c.code, c.hint)
		}
	}
}

// fullDisk takes nothing.
type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) {
	return 0, &fs.PathError{Op: "write", Path: "/dev/stdout", Err: syscall.ENOSPC}
}

// TestHelpOnAFullDisk: help and completions that could not be written have failed, as any answer has.
func TestHelpOnAFullDisk(t *testing.T) {
	for _, args := range [][]string{{}, {"--help"}, {"plan", "--help"}, {"help", "plan"}, {"edits"}, {"completion"}, {"completion", "bash"}, {"licences"}} {
		var talk strings.Builder
		code := Run(context.Background(), args, Env{In: strings.NewReader(""), Out: fullDisk{}, Err: &talk, Getenv: func(string) string { return "" }, Now: time.Now})
		if want := "feedline: error: write /dev/stdout: no space left on device\nfeedline: hint: make room"; code != exitFail || !strings.HasPrefix(talk.String(), want) {
			t.Errorf("feedline %s: exit code %d and %q, want %d and %q", strings.Join(args, " "), code, talk.String(), exitFail, want)
		}
	}
}
