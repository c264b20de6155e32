package book

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What an OpenError can be, beside fs.ErrNotExist, fs.ErrExist and fs.ErrPermission.
var (
	ErrFolder      = errors.New("a folder")
	ErrNotDatabase = errors.New("not a database")
	ErrForeign     = errors.New("a database of another program")
	ErrNewer       = errors.New("a book of a newer feedline")
	ErrDamaged     = errors.New("a damaged book")
)

// ErrBusy is returned when another program has kept the book locked for so long that waiting was given up.
var ErrBusy = errors.New("the book is in use")

// ErrDisk is what the disk refuses: it is full, read-only, or can't be read.
var ErrDisk = errors.New("the disk refuses")

// ErrNoPlan is returned when the book holds no plan, or not the one asked for; ErrNotReleased when none was released.
var (
	ErrNoPlan      = errors.New("the book holds no plan")
	ErrNotReleased = errors.New("no plan of the book is released")
)

// damaged is an error about something that the schema forbids and the book holds all the same.
func damaged(format string, args ...any) error {
	return fmt.Errorf("%s (%w)", fmt.Sprintf(format, args...), ErrDamaged)
}

const notABook = "name the book with --book, or make one with: feedline init"

// OpenError says why a book can't be opened, made or used.
type OpenError struct {
	Path   string
	Reason string // follows the path, such as "is empty"
	Remedy string
	Err    error // one of the errors above, or the system's
}

func (e *OpenError) Error() string { return e.Path + " " + e.Reason }
func (e *OpenError) Unwrap() error { return e.Err }

// Hint is what to do.
func (e *OpenError) Hint() string { return e.Remedy }

// RowError is a row that the book refuses. Table and Key are as in planner.Problem, Column is the book's.
type RowError struct {
	Table, Key, Column string
	Value              string
	Allowed            string
}

func (e *RowError) Error() string {
	place := strings.TrimSpace(e.Table + " " + e.Key)
	if e.Column == "" {
		return fmt.Sprintf("%s: %s, allowed: %s", place, e.Value, e.Allowed)
	}
	return fmt.Sprintf("%s: %s = %s, allowed: %s", place, e.Column, e.Value, e.Allowed)
}

// Hint is what to do.
func (e *RowError) Hint() string { return "nothing was saved; correct the row in " + e.Table }

// StaleError is a save that was refused because the book has changed since it was loaded.
type StaleError struct {
	Expect, Now Version
	Who         string    // who changed it last
	At          time.Time // and when
	Note        string
}

func (e *StaleError) Error() string {
	return fmt.Sprintf("the book has changed since it was loaded: version %d now, %d then; last by %s at %s (%s)",
		e.Now, e.Expect, orUnknown(e.Who), e.At.Format(time.RFC3339), e.Note)
}

// Hint is what to do.
func (e *StaleError) Hint() string { return "nothing was saved; run it again on the book as it is now" }

func orUnknown(who string) string {
	if who == "" {
		return "unknown"
	}
	return who
}

func newer(path string, version, latest int) error {
	return &OpenError{path, fmt.Sprintf("is a book of a newer feedline: its version is %d, this feedline knows up to %d", version, latest),
		"use the newer feedline, or the copy that it left beside the book, named .bak-v and a number", ErrNewer}
}

// openTrouble makes an *OpenError of what the system or SQLite says of a file.
func openTrouble(path string, err error) error {
	var known *OpenError
	switch {
	case err == nil, errors.As(err, &known):
		return err
	case errors.Is(err, fs.ErrNotExist):
		return &OpenError{path, "is not there", "check the path; a new book is made with: feedline init", err}
	case errors.Is(err, fs.ErrExist):
		return &OpenError{path, "is there already", "name another file with --book, or move this one away", err}
	case errors.Is(err, fs.ErrPermission):
		return &OpenError{path, "may not be read or written by you", "ask for access to the file and its folder", err}
	case errors.Is(err, syscall.ENOSPC):
		return diskFull(path, err)
	case errors.Is(err, syscall.EROFS):
		return &OpenError{path, "can't be written: the disk is read-only", "name another place with --book", errors.Join(ErrDisk, err)}
	}
	return sqliteTrouble(path, err)
}

func diskFull(path string, err error) error {
	return &OpenError{path, "can't be written: the disk is full", "make room, then try again; the book is as it was", errors.Join(ErrDisk, err)}
}

// sqliteTrouble makes an *OpenError of an error of SQLite that has to do with the file; other errors it leaves alone.
func sqliteTrouble(path string, err error) error {
	switch primary(err) {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return &OpenError{path, "is in use by another program that does not let go of it", "close other programs that have it open, then try again", errors.Join(ErrBusy, err)}
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return &OpenError{path, "is damaged", damageRemedy(path), errors.Join(ErrDamaged, err)}
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		return &OpenError{path, "may not be written by you", "ask for access to the file and its folder", errors.Join(fs.ErrPermission, err)}
	case sqlite3.SQLITE_CANTOPEN:
		return &OpenError{path, "can't be opened", "the book and its folder must be writable, on a disk of this machine", errors.Join(ErrDisk, err)}
	case sqlite3.SQLITE_FULL:
		return diskFull(path, err)
	case sqlite3.SQLITE_IOERR, sqlite3.SQLITE_PROTOCOL:
		return &OpenError{path, "can't be read or written", "see that the disk has room; the book must lie on a disk of this machine: network drives do not do", errors.Join(ErrDisk, err)}
	}
	return err
}

// trouble is err as a user of b may see it.
func (b *Book) trouble(err error) error {
	var known *OpenError
	var denied *DeniedError
	switch {
	case err == nil, errors.As(err, &known), errors.As(err, &denied), errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case errors.Is(err, ErrDamaged):
		return &OpenError{b.path, "holds what it should not: " + err.Error(), damageRemedy(b.path), err}
	}
	return openTrouble(b.path, err)
}

// code is SQLite's extended result code of err, -1 if it is no error of SQLite's.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code()
	}
	return -1
}

// primary is the low byte of code, which names the kind of error; -1 if it is no error of SQLite's.
func primary(err error) int {
	if c := code(err); c >= 0 {
		return c & 0xff
	}
	return -1
}
