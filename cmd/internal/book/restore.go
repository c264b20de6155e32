package book

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"modernc.org/sqlite"

	"feedline/cmd/internal/beside"
)

// Restored is what Restore did.
type Restored struct {
	Aside   string  // the copy, or the damaged file, of what was there before; "" if nothing was
	Damaged bool    // what was there was damaged
	Version Version // of the records now
}

// versionLeap is by how much a restore raises the version beyond the newest there was, so that no version of before means other
// records than it did: whoever loaded the book before the restore is told that it has changed.
const versionLeap = 1000

// Restore makes the book at path what the copy at from is. The copy is proven whole first. A sound book is overwritten in one transaction
// within it, so that others may have it open, and a copy of it is left beside it; a damaged one is moved aside.
func Restore(ctx context.Context, from, path string) (Restored, error) {
	var out Restored
	r, err := Check(ctx, from)
	if err != nil {
		return out, err
	}
	if len(r.Wrong) > 0 {
		return out, &OpenError{from, "is not whole itself: " + strings.Join(r.Wrong, "; "), "choose another copy", ErrDamaged}
	}
	if same, err := sameFile(from, path); err == nil && same {
		return out, &OpenError{from, "is the book itself", "name a copy of it", fs.ErrExist}
	}
	tmp, err := prepare(ctx, from, path)
	if err != nil {
		return out, err
	}
	defer removeDatabase(tmp) // nothing is there any more once it is renamed
	if !exists(path) {
		if out.Version, err = stampRestore(ctx, tmp, from, 0); err != nil {
			return out, err
		}
		return out, openTrouble(path, putInPlace(tmp, path))
	}
	now, err := Open(path)
	if err == nil {
		defer now.Close()
		return now.overwrite(ctx, tmp, from)
	}
	if !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrNotDatabase) {
		return out, err
	}
	out.Damaged = true
	if out.Version, err = stampRestore(ctx, tmp, from, 0); err != nil {
		return out, err
	}
	out.Aside, err = swap(tmp, path)
	return out, err
}

// prepare copies from to a temporary file beside path and brings it up to date.
func prepare(ctx context.Context, from, path string) (tmp string, err error) {
	f, err := beside.Create(path)
	if err != nil {
		return "", openTrouble(filepath.Dir(path), err)
	}
	tmp = f.Name()
	defer func() {
		if err != nil {
			removeDatabase(tmp)
		}
	}()
	if err := errors.Join(f.Chmod(0o644), f.Close()); err != nil {
		return "", openTrouble(path, err)
	}
	dsn, err := dataSource(from, false)
	if err != nil {
		return "", openTrouble(from, err)
	}
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return "", openTrouble(from, err)
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", tmp); err != nil {
		return "", openTrouble(path, err)
	}
	up, err := connect(tmp)
	if err != nil {
		return "", openTrouble(path, err)
	}
	return tmp, errors.Join(openTrouble(path, schema().up(ctx, up)), up.Close())
}

// stampRestore enters the restore into the prepared copy, at a version beyond least, and leaves the copy without a log file.
func stampRestore(ctx context.Context, tmp, from string, least Version) (v Version, err error) {
	db, err := connect(tmp)
	if err != nil {
		return 0, openTrouble(tmp, err)
	}
	b := &Book{tmp, db, time.Now, Me()}
	err = b.write(ctx, func(tx *sql.Tx) error {
		if v, err = currentVersion(ctx, tx); err != nil {
			return err
		}
		if v = max(v, least) + 1; least > 0 {
			v += versionLeap
		}
		note := "restored from " + filepath.Base(from)
		if _, err := tx.ExecContext(ctx, "INSERT INTO revisions (version, at, who, note) VALUES (?, ?, ?, ?)", v, b.now(), b.actor.Name, note); err != nil {
			return err
		}
		return b.did(ctx, tx, "book restored", filepath.Base(from), "")
	})
	return v, errors.Join(err, b.Close())
}

// overwrite puts the prepared copy in the place of all that the book holds, in one transaction.
func (b *Book) overwrite(ctx context.Context, tmp, from string) (out Restored, err error) {
	if err := b.write(ctx, func(tx *sql.Tx) error { return b.may(ctx, tx, RightRestore) }); err != nil {
		return out, err
	}
	if out.Aside, err = b.setAside(ctx); err != nil {
		return out, err
	}
	least, err := b.Version(ctx)
	if err != nil {
		return out, err
	}
	if out.Version, err = stampRestore(ctx, tmp, from, least); err != nil {
		return out, err
	}
	c, err := b.db.Conn(ctx)
	if err != nil {
		return out, b.trouble(err)
	}
	defer c.Close()
	return out, b.trouble(c.Raw(func(raw any) error { return copyInto(raw.(driver.Conn), tmp) }))
}

// setAside leaves a copy of the book beside it.
func (b *Book) setAside(ctx context.Context) (string, error) {
	tmp, err := b.copyOut(ctx, b.path)
	if err != nil {
		return "", err
	}
	defer removeDatabase(tmp)
	name := b.path + ".bak-before-restore-" + b.clock().UTC().Format("20060102T150405Z")
	for n := 2; ; n++ {
		err := putInPlace(tmp, name)
		if !errors.Is(err, fs.ErrExist) {
			return name, openTrouble(name, err)
		}
		name = fmt.Sprintf("%s.bak-before-restore-%s-%d", b.path, b.clock().UTC().Format("20060102T150405Z"), n)
	}
}

// copyInto overwrites the connection's database with the one at from.
func copyInto(raw driver.Conn, from string) error {
	c, ok := raw.(interface {
		NewRestore(string) (*sqlite.Backup, error)
	})
	if !ok {
		panic("book: the driver has no restore")
	}
	dsn, err := dataSource(from, false)
	if err != nil {
		return err
	}
	k, err := c.NewRestore(dsn)
	if err != nil {
		return err
	}
	more, err := k.Step(-1)
	if err == nil && more {
		err = errors.New("the book was not overwritten whole")
	}
	return errors.Join(err, k.Finish())
}

// swap puts the file tmp in the place of a damaged book, which is moved aside with what belongs to it.
func swap(tmp, path string) (aside string, err error) {
	aside = path + ".damaged"
	for n := 2; exists(aside); n++ {
		aside = fmt.Sprintf("%s.damaged-%d", path, n)
	}
	for _, suffix := range []string{"-wal", "-shm", "-journal"} { // first, so that they never stand beside the new book
		if err := os.Rename(path+suffix, aside+suffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", openTrouble(path, err)
		}
	}
	if err := os.Link(path, aside); err != nil { // a file system without links
		if err := os.Rename(path, aside); err != nil {
			return "", openTrouble(path, err)
		}
	}
	return aside, openTrouble(path, errors.Join(os.Rename(tmp, path), syncDir(filepath.Dir(path))))
}
