package book

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// proven fails unless Check finds nothing wrong with the book at path.
func proven(t *testing.T, path string) CheckReport {
	t.Helper()
	r, err := Check(context.Background(), path)
	if err != nil || !r.OK() {
		t.Fatalf("%s: %v, wrong %q, derived %q", path, err, r.Wrong, r.Derived)
	}
	return r
}

// A backup that is made while others write holds one state of the book, whole.
func TestBackupWhileOthersWrite(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, anInput(0))
	other, err := Open(b.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	stop := make(chan bool)
	var wait sync.WaitGroup
	wait.Go(func() {
		for n := 1; ; n++ {
			select {
			case <-stop:
				return
			default:
				if _, err := other.Save(ctx, anInput(n%2), SaveOptions{}); err != nil {
					t.Error(err)
					return
				}
			}
		}
	})
	dir := t.TempDir()
	for n := range 6 {
		dst := filepath.Join(dir, fmt.Sprint(n, ".book"))
		if err := b.Backup(ctx, dst, false); err != nil {
			t.Error(err)
			break
		}
		proven(t, dst)
		wholeBook(t, dst, anInput(0), anInput(1))
	}
	close(stop)
	wait.Wait()
	if got := len(names(t, dir)); got < 6 {
		t.Errorf("%d files in the folder of backups", got)
	}
}

func TestBackupsAreKeptInNumber(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	dir := filepath.Join(t.TempDir(), "backups")
	now := time.Date(2028, 2, 29, 1, 0, 0, 0, time.UTC) // a leap day
	b.clock = func() time.Time { return now }
	var last string
	for n := range 5 {
		file, removed, err := b.BackupInto(ctx, dir, 3)
		if err != nil {
			t.Fatal(err)
		}
		if want := max(0, min(1, n-2)); removed != want {
			t.Errorf("backup %d took out %d, want %d", n, removed, want)
		}
		last = file
		if n != 1 { // two in the same second
			now = now.Add(24 * time.Hour)
		}
	}
	stranger := filepath.Join(dir, "plant-of-somebody.book")
	if err := os.WriteFile(stranger, []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, _, err := b.BackupInto(ctx, dir, 1); err != nil {
		t.Fatal(err)
	}
	all, err := Backups(b.path, dir)
	if err != nil || len(all) != 1 || all[0] <= last || !exists(stranger) {
		t.Errorf("backups %q, %v; the stranger's file must be left", all, err)
	}
}

func TestBackupOverwritesNothing(t *testing.T) {
	b := fresh(t)
	if err := b.Backup(ctx, b.Path(), true); !errors.Is(err, fs.ErrExist) {
		t.Errorf("onto the book itself: %v", err)
	}
	dst := filepath.Join(t.TempDir(), "copy.book")
	if err := b.Backup(ctx, dst, false); err != nil {
		t.Fatal(err)
	}
	if err := b.Backup(ctx, dst, false); !errors.Is(err, fs.ErrExist) {
		t.Errorf("onto another copy: %v", err)
	}
	if err := b.Backup(ctx, dst, true); err != nil {
		t.Errorf("with force: %v", err)
	}
	if err := b.Backup(ctx, filepath.Join(t.TempDir(), "no", "copy.book"), false); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("into a folder that is not there: %v", err)
	}
}

// A sound book is restored within itself: others who have it open see the old records come back, and are told that what they
// loaded before has changed.
func TestRestoreWhileOthersHaveItOpen(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	dst := filepath.Join(t.TempDir(), "copy.book")
	if err := b.Backup(ctx, dst, false); err != nil {
		t.Fatal(err)
	}
	later := small()
	later.Plant.Name = "renamed"
	before := mustSave(t, b, later)
	out, err := Restore(ctx, dst, b.Path())
	if err != nil || out.Damaged || !exists(out.Aside) {
		t.Fatalf("%+v, %v", out, err)
	}
	keeps(t, b, small())
	v, err := b.Version(ctx)
	if err != nil || v != out.Version || v <= before {
		t.Errorf("version %d after, %d said, %d before; %v", v, out.Version, before, err)
	}
	var stale *StaleError
	if _, err := b.Save(ctx, later, SaveOptions{Expect: before}); !errors.As(err, &stale) {
		t.Errorf("a save on what was loaded before: %v", err)
	}
	proven(t, b.Path())
	wholeBookOf := proven(t, out.Aside)
	if wholeBookOf.Version != before {
		t.Errorf("the copy set aside is of version %d, want %d", wholeBookOf.Version, before)
	}
	mustSave(t, b, later)
	proven(t, b.Path())
}

// spoil overwrites the middle of a file.
func spoil(t *testing.T, path string) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for at := 4096; at < min(len(data), 40*4096); at++ {
		data[at] = 0xAA
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
}

// A damaged book is refused with the way back, which works.
func TestDamagedBookIsRefusedAndRestored(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	dir := filepath.Join(filepath.Dir(b.Path()), "backups")
	file, _, err := b.BackupInto(ctx, dir, 3)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	spoil(t, b.Path())
	_, err = Open(b.Path())
	var open *OpenError
	if !errors.As(err, &open) || !errors.Is(err, ErrDamaged) || !strings.Contains(open.Hint(), "feedline restore") || !strings.Contains(open.Hint(), file) {
		t.Fatalf("error %v, hint %v; want the way back to %s", err, open, file)
	}
	r, err := Check(ctx, b.Path())
	if err != nil || r.OK() {
		t.Errorf("check of a damaged book: %+v, %v", r, err)
	}
	out, err := Restore(ctx, file, b.Path())
	if err != nil || !out.Damaged || !exists(out.Aside) {
		t.Fatalf("%+v, %v", out, err)
	}
	again, err := Open(b.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	keeps(t, again, small())
	proven(t, b.Path())
}

func TestRestoreRefusesWhatIsNotWhole(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	copyOf := filepath.Join(t.TempDir(), "copy.book")
	if err := b.Backup(ctx, copyOf, false); err != nil {
		t.Fatal(err)
	}
	spoil(t, copyOf)
	if _, err := Restore(ctx, copyOf, b.Path()); !errors.Is(err, ErrDamaged) {
		t.Errorf("from a damaged copy: %v", err)
	}
	if _, err := Restore(ctx, b.Path(), b.Path()); !errors.Is(err, fs.ErrExist) {
		t.Errorf("from itself: %v", err)
	}
	keeps(t, b, small())
	if left := len(names(t, filepath.Dir(b.Path()))); left != 3 { // the book, its -wal and -shm
		t.Errorf("files %q", names(t, filepath.Dir(b.Path())))
	}
}

// A copy of an older version is restored and brought up to date.
func TestRestoreOfAnOlderBook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "plant.book")
	out, err := Restore(ctx, unpackPast(t, 1), path)
	if err != nil || out.Aside != "" {
		t.Fatalf("%+v, %v", out, err)
	}
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	in, _ := mustLoad(t, b)
	if d := cmp.Diff(small().Orders, in.Orders); d != "" {
		t.Errorf("orders of the copy and of the restored book differ:\n%s", d)
	}
	proven(t, path)
}

// Check finds what no constraint of the schema could: a row changed past the log, a heading that is not its plan's. Rebuild
// mends the latter and not the former.
func TestCheckFindsWhatIsWrong(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	if _, err := b.SavePlan(ctx, plans().Example(1), PlanMeta{}); err != nil {
		t.Fatal(err)
	}
	proven(t, b.Path())
	if _, err := b.db.Exec("UPDATE plans SET buckets = buckets + 7"); err != nil {
		t.Fatal(err)
	}
	r, err := Check(ctx, b.Path())
	if err != nil || len(r.Wrong) != 0 || len(r.Derived) != 1 || !strings.Contains(r.Derived[0], "plan 1") {
		t.Errorf("a wrong heading: %+v, %v", r, err)
	}
	if n, err := b.Rebuild(ctx); err != nil || n != 1 {
		t.Errorf("rebuilt %d, %v", n, err)
	}
	proven(t, b.Path())
	for _, c := range []struct{ sql, word string }{
		{"UPDATE orders SET priority = 9 WHERE position = 1", "priority"},
		{"DELETE FROM orders WHERE position = 1", "orders"},
		{"INSERT INTO suppliers VALUES (99, 'X', 'x', '')", "suppliers X"},
	} {
		copyOf := filepath.Join(t.TempDir(), "copy.book")
		if err := b.Backup(ctx, copyOf, false); err != nil {
			t.Fatal(err)
		}
		x, err := Open(copyOf)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := x.db.Exec(c.sql); err != nil {
			t.Fatalf("%s: %v", c.sql, err)
		}
		x.Close()
		r, err := Check(ctx, copyOf)
		if err != nil || len(r.Wrong) != 1 || !strings.Contains(r.Wrong[0], c.word) {
			t.Errorf("%s: %+v, %v", c.sql, r, err)
		}
	}
}

// The past books are whole once they are up to date.
func TestPastBooksCheck(t *testing.T) {
	for v := 1; v <= schema().latest(); v++ {
		path := unpackPast(t, v)
		b, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		b.Close()
		proven(t, path)
	}
}
