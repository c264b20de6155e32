package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/sheets"
	"feedline/cmd/internal/watch"
	"feedline/cmd/internal/watch/notify"
	"feedline/planner"
	"feedline/planner/model"
	"feedline/planner/records"
)

// fail prints err as two lines, what is wrong and what to do, and returns its exit code.
func (a *app) fail(err error) int {
	if isVerdict(err) {
		return exitShort
	}
	code, hint := a.judge(err)
	fmt.Fprintf(a.Err, "feedline: error: %v\n", err)
	if hint != "" {
		fmt.Fprintf(a.Err, "feedline: hint: %s\n", hint)
	}
	return code
}

// isVerdict reports an answer that was given and is not what was asked for.
func isVerdict(err error) bool { return errors.Is(err, errShort) || errors.Is(err, errNotBy) }

// hinter is an error that knows its own remedy.
type hinter interface{ Hint() string }

// judge maps an error to its exit code and a hint with something to type.
func (a *app) judge(err error) (code int, hint string) {
	var h hinter
	if errors.As(err, &h) {
		hint = h.Hint()
	}
	var use *usageError
	var input *planner.InputError
	var bad badInput
	var open *book.OpenError
	var row *book.RowError
	var set *sheets.SetError
	var refused *records.Refused
	switch {
	case errors.As(err, &use):
		return exitUsage, "see " + use.path + " --help"
	case errors.As(err, &input):
		return exitUsage, orHint(hint, inputHint(input))
	case isModelError(err):
		return exitUsage, orHint(hint, "feedline reads models in free and fixed MPS format")
	case errors.As(err, &set):
		return exitUsage, orHint(hint, "cells are named as in the sheets that feedline export writes")
	case errors.As(err, &refused), errors.Is(err, book.ErrNoEntry):
		return exitUsage, orHint(hint, "list what is recorded with: feedline record list")
	case isWatchError(err):
		return exitUsage, hint
	case errors.As(err, &bad), isSheetError(err), errors.As(err, &row), errors.Is(err, fs.ErrExist):
		return exitUsage, hint
	case errors.Is(err, book.ErrDisk), errors.Is(err, book.ErrBusy):
		return exitFail, hint
	case errors.Is(err, syscall.ENOSPC):
		return exitFail, orHint(hint, "make room on the disk, then try again")
	case errors.Is(err, syscall.EROFS):
		return exitFail, orHint(hint, "name another place: the disk is read-only")
	case errors.As(err, &open) && !errors.Is(err, fs.ErrPermission):
		return exitUsage, orHint(hint, "check the path; a new book is made with: feedline init")
	case errors.Is(err, book.ErrNoPlan):
		return exitUsage, orHint(hint, "make one with: feedline plan")
	case errors.Is(err, book.ErrNotReleased):
		return exitUsage, orHint(hint, "make the last plan the promise with: feedline release")
	case errors.Is(err, fs.ErrNotExist):
		return exitUsage, orHint(hint, "check the path")
	case errors.Is(err, fs.ErrPermission):
		return exitFail, orHint(hint, "ask for access to the file and its folder, or name another place")
	case errors.Is(err, planner.ErrOutdated):
		return exitFail, "plan again: feedline plan"
	case errors.Is(err, planner.ErrStopped):
		return exitFail, "give it longer, such as: feedline plan --time 60s"
	}
	return exitFail, hint
}

func orHint(hint, fallback string) string {
	if hint != "" {
		return hint
	}
	return fallback
}

func inputHint(e *planner.InputError) string {
	return "correct the sheet " + e.Problems[0].Table + " and import it again"
}

// badInput is an error in what a user handed in: exit code 2.
type badInput struct {
	err  error
	hint string
}

func (e badInput) Error() string { return e.err.Error() }
func (e badInput) Unwrap() error { return e.err }
func (e badInput) Hint() string  { return e.hint }

// isSheetError reports sheets that could not be read as they are, or can't be written where they were to go.
func isSheetError(err error) bool {
	var e *sheets.Error
	var p *sheets.PlaceError
	return errors.As(err, &e) || errors.As(err, &p)
}

// isWatchError reports a configuration of the watch that is wrong, or roles that can't be.
func isWatchError(err error) bool {
	var c *watch.ConfigError
	var s *notify.SecretError
	var l *book.LastAdminError
	return errors.As(err, &c) || errors.As(err, &s) || errors.As(err, &l)
}

// isModelError reports an MPS file that can't be read or a model that can't be solved as given.
func isModelError(err error) bool {
	var e *model.ReadError
	var v *model.InvalidError
	return errors.As(err, &e) || errors.As(err, &v)
}

func errUnits(s string) error {
	return fmt.Errorf("--units %q, allowed: metric or us", s)
}
