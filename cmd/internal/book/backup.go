package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"feedline/cmd/internal/beside"
)

// Backup writes a copy of the book to dst, which appears whole or not at all, while others use the book. The copy is proven whole
// before it gets its name. What is at dst already is replaced only with force.
func (b *Book) Backup(ctx context.Context, dst string, force bool) error {
	if exists(dst) && !force {
		return &OpenError{dst, "is there already", "name another file, or overwrite it with --force", fs.ErrExist}
	}
	if same, err := sameFile(b.path, dst); err != nil || same {
		return errors.Join(err, &OpenError{dst, "is the book itself", "name another file", fs.ErrExist})
	}
	tmp, err := b.copyOut(ctx, dst)
	if err != nil {
		return err
	}
	defer removeDatabase(tmp) // nothing is there any more once it is renamed
	if force {
		err = os.Rename(tmp, dst)
	} else {
		err = putInPlace(tmp, dst)
	}
	return openTrouble(dst, errors.Join(err, syncDir(filepath.Dir(dst))))
}

func sameFile(a, b string) (bool, error) {
	x, err := os.Stat(a)
	if err != nil {
		return false, openTrouble(a, err)
	}
	y, err := os.Stat(b)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, openTrouble(b, err)
	}
	return os.SameFile(x, y), nil
}

// copyOut writes a copy beside dst, syncs and proves it, and returns its name.
func (b *Book) copyOut(ctx context.Context, dst string) (tmp string, err error) {
	f, err := beside.Create(dst)
	if err != nil {
		return "", openTrouble(filepath.Dir(dst), err)
	}
	defer func() {
		if err != nil {
			removeDatabase(f.Name())
		}
	}()
	defer f.Close()
	if _, err := b.db.ExecContext(ctx, "VACUUM INTO ?", f.Name()); err != nil {
		if ctx.Err() != nil {
			return "", ctx.Err()
		}
		return "", openTrouble(dst, err)
	}
	if err := errors.Join(f.Chmod(0o644), f.Sync()); err != nil {
		return "", openTrouble(dst, err)
	}
	if wrong, err := soundness(ctx, f.Name(), -1); err != nil || len(wrong) > 0 {
		return "", errors.Join(err, &OpenError{b.path, "was copied, and the copy is not whole: " + strings.Join(wrong, "; "), "prove the book: feedline check", ErrDamaged})
	}
	return f.Name(), nil
}

// backupName is what BackupInto calls its files: the book's name without its ending, the time in UTC, a number if that is taken.
var backupName = regexp.MustCompile(`^-\d{8}T\d{6}Z(-\d+)?\.book$`)

// stem is the book's name without its ending.
func stem(path string) string {
	return strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
}

// BackupInto adds a backup to a folder, which is made if it is not there, and takes out the oldest of the book's backups there
// beyond so many. It returns the file and how many were taken out.
func (b *Book) BackupInto(ctx context.Context, dir string, keep int) (file string, removed int, err error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", 0, openTrouble(dir, err)
	}
	beside.Sweep(dir, b.clock())
	base := stem(b.path) + "-" + b.clock().UTC().Format("20060102T150405Z")
	for n := 1; ; n++ {
		name := base
		if n > 1 {
			name = fmt.Sprintf("%s-%d", base, n)
		}
		file = filepath.Join(dir, name+".book")
		err := b.Backup(ctx, file, false)
		if err == nil {
			break
		}
		if !errors.Is(err, fs.ErrExist) || n == 1000 {
			return "", 0, err
		}
	}
	all, err := Backups(b.path, dir)
	if err != nil {
		return file, 0, err
	}
	for _, old := range all[min(max(keep, 1), len(all)):] {
		if old == file {
			continue
		}
		if err := os.Remove(old); err != nil {
			return file, removed, err
		}
		removed++
	}
	return file, removed, nil
}

// Backups lists the backups of a book in a folder, the newest, by the time in their names, first.
func Backups(path, dir string) (all []string, err error) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	for _, e := range list {
		if rest, ok := strings.CutPrefix(e.Name(), stem(path)); ok && backupName.MatchString(rest) && e.Type().IsRegular() {
			all = append(all, filepath.Join(dir, e.Name()))
		}
	}
	slices.Sort(all)
	slices.Reverse(all)
	return all, nil
}

// newestCopy is the newest copy of a book that is found where copies are left: the folder backups beside it, and the copies made before an upgrade
// or a restore; "" if there is none.
func newestCopy(path string) string {
	dir := filepath.Dir(path)
	list, _ := filepath.Glob(escapeGlob(path) + ".bak-*")
	more, _ := Backups(path, filepath.Join(dir, "backups"))
	best, when := "", int64(0)
	for _, name := range append(list, more...) {
		info, err := os.Stat(name)
		if err == nil && info.Mode().IsRegular() && info.ModTime().UnixNano() > when {
			best, when = name, info.ModTime().UnixNano()
		}
	}
	return best
}

func escapeGlob(s string) string {
	return strings.NewReplacer(`*`, `\*`, `?`, `\?`, `[`, `\[`, `\`, `\\`).Replace(s)
}

// damageRemedy says how to go on with a damaged book.
func damageRemedy(path string) string {
	if c := newestCopy(path); c != "" {
		return fmt.Sprintf("go back to its newest copy: feedline restore --book %s %s", path, c)
	}
	return fmt.Sprintf("go back to a backup: feedline restore --book %s BACKUP; what can be read of it can be had with: sqlite3 %s .recover", path, path)
}

// soundness lists what SQLite finds wrong with the file at path, up to twenty things. Above so many bytes only structure that is met on the way
// to the schema is looked at; less than 0 = no limit.
func soundness(ctx context.Context, path string, most int64) (wrong []string, err error) {
	dsn, err := dataSource(path, false)
	if err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	return sound(ctx, db, path, most)
}

func sound(ctx context.Context, db *sql.DB, path string, most int64) (wrong []string, err error) {
	if info, err := os.Stat(path); most >= 0 && err == nil && info.Size() > most {
		return nil, nil
	}
	pragma := "PRAGMA integrity_check(20)"
	if most >= 0 {
		pragma = "PRAGMA quick_check(1)"
	}
	rows, err := db.QueryContext(ctx, pragma)
	if err != nil {
		return nil, openTrouble(path, err)
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, openTrouble(path, err)
		}
		if s != "ok" {
			wrong = append(wrong, s)
		}
	}
	return wrong, openTrouble(path, rows.Err())
}
