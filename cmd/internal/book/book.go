// Package book is the plant book: one SQLite file with the plant's records, every plan that was kept and a log of changes.
//
// A book is loaded whole into a planner.Input and saved whole: Save makes the tables equal to an Input in one transaction and
// leaves rows that are the same alone. The schema, in migrations, checks every range and every code that a row names, so that no
// other program can enter what a plan could not be made of. A process that dies at any moment leaves the book as it was before
// or after a transaction. Several processes may use a book at once: writers wait for one another.
//
// A book must lie on a disk of the machine that uses it. It is kept in SQLite's write-ahead mode, which needs memory shared
// between its users: on a network drive two machines would damage it. Its companions, named as the book with -wal and -shm
// behind, belong to it while it is open or after a crash: they are moved or copied together or, better, not at all.
package book

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"feedline/cmd/internal/beside"
	"feedline/planner"
)

// Book is an open plant book. It may be used from several goroutines.
type Book struct {
	path  string
	db    *sql.DB
	clock func() time.Time // stamps revisions, plans and releases
	actor Actor            // whose roles count, and whose name the log has
}

// Open opens the book at path, and brings an older one up to date first; a copy of it as it was is then left beside it, as
// path.bak-vN. What a process that was killed has left beside it is taken out, see package beside. What is no book, or can't be used, is refused with an *OpenError.
func Open(path string) (*Book, error) { return open(path, schema()) }

// mostChecked is the largest book, in bytes, whose structure is proven whenever it is opened. Damage of a larger one is met when what is
// damaged is read, and by Check.
const mostChecked = 32 << 20

func open(path string, s migrations) (*Book, error) {
	version, err := probe(path, s.latest())
	if err != nil {
		return nil, err
	}
	db, err := connect(path)
	if err != nil {
		return nil, openTrouble(path, err)
	}
	if wrong, err := sound(context.Background(), db, path, mostChecked); err != nil || len(wrong) > 0 {
		db.Close()
		if err == nil {
			err = &OpenError{path, "is damaged: " + wrong[0], damageRemedy(path), ErrDamaged}
		}
		return nil, err
	}
	if version < s.latest() {
		if err := s.upgrade(db, path, version); err != nil {
			db.Close()
			return nil, openTrouble(path, err)
		}
	}
	beside.Sweep(filepath.Dir(path), time.Now())
	return &Book{path, db, time.Now, Me()}, nil
}

// Create makes a new book, without rows, and opens it. It appears at path whole or not at all. What is at path already is left
// alone: the *OpenError is then an fs.ErrExist.
func Create(path string) (*Book, error) {
	if err := vacant(path); err != nil {
		return nil, err
	}
	tmp, err := beside.Create(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &OpenError{filepath.Dir(path), "is not there", "make the folder first, or name another place with --book", err}
	}
	if err != nil {
		return nil, openTrouble(path, err)
	}
	defer removeDatabase(tmp.Name()) // nothing is there any more once it is renamed
	if err := errors.Join(tmp.Chmod(0o644), tmp.Close()); err != nil {
		return nil, openTrouble(path, err)
	}
	if err := fillNew(tmp.Name(), path); err != nil {
		return nil, openTrouble(path, err)
	}
	if err := putInPlace(tmp.Name(), path); err != nil {
		return nil, openTrouble(path, err)
	}
	return Open(path)
}

// removeDatabase takes a database that is not to be kept out, with the log that SQLite leaves where closing it failed, as on a full disk.
func removeDatabase(path string) {
	for _, suffix := range []string{"", "-wal", "-shm", "-journal"} {
		os.Remove(path + suffix)
	}
}

// vacant refuses a path where something is already, and one beside which a removed book has left a log that SQLite would
// take for the new one's.
func vacant(path string) error {
	if _, err := os.Lstat(path); err == nil {
		return &OpenError{path, "is there already", "name another file with --book, or move this one away", fs.ErrExist}
	}
	for _, suffix := range []string{"-wal", "-journal"} {
		if left := path + suffix; exists(left) {
			return &OpenError{left, "is left of a book that is gone", "move it back beside its book, or away", fs.ErrExist}
		}
	}
	return nil
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// fillNew makes the book that is to be at path of an empty file and closes it, so that nothing of it is left in a log.
func fillNew(file, path string) error {
	db, err := connect(file)
	if err != nil {
		return err
	}
	b := &Book{path, db, time.Now, Me()}
	ctx := context.Background()
	if err := schema().up(ctx, db); err != nil {
		return errors.Join(err, db.Close())
	}
	_, err = b.Save(ctx, &planner.Input{}, SaveOptions{Note: "created"})
	return errors.Join(err, db.Close())
}

// putInPlace gives the file tmp the name path, unless there is one of that name.
func putInPlace(tmp, path string) error {
	err := os.Link(tmp, path)
	if err == nil || errors.Is(err, fs.ErrExist) {
		return errors.Join(err, syncDir(filepath.Dir(path)))
	}
	// A file system without links: reserve the name, then replace the empty file.
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	return errors.Join(f.Close(), os.Rename(tmp, path), syncDir(filepath.Dir(path)))
}

// syncDir makes new names in a folder last. Systems that can't sync a folder don't need it or have no way.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	_ = d.Sync()
	return nil
}

// Close closes the book.
func (b *Book) Close() error { return b.trouble(b.db.Close()) }

// Path is where the book is.
func (b *Book) Path() string { return b.path }

// now is the clock's value as the book stores it.
func (b *Book) now() string { return b.clock().UTC().Format(time.RFC3339Nano) }

// parseNow reads a value of now.
func parseNow(s string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return t, damaged("time %q", s)
	}
	return t, nil
}

// read runs f in a transaction that sees one state of the book and hinders no writer.
func (b *Book) read(ctx context.Context, f func(*sql.Tx) error) error {
	tx, err := b.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return b.trouble(err)
	}
	defer tx.Rollback() // nothing was written
	return b.trouble(f(tx))
}

// write runs f in a transaction that no other writer gets into; an error of f undoes it.
func (b *Book) write(ctx context.Context, f func(*sql.Tx) error) error {
	tx, err := b.db.BeginTx(ctx, nil)
	if err != nil {
		return b.trouble(err)
	}
	defer tx.Rollback() // without effect once it is committed
	if err := f(tx); err != nil {
		return b.trouble(err)
	}
	return b.trouble(tx.Commit())
}
