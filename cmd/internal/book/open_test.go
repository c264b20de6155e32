package book

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
)

// misfit opens path, which must be refused as the kind of error, with a word and a remedy, and leave the file as it is.
func misfit(t *testing.T, path string, kind error, word string) {
	t.Helper()
	before, _ := os.ReadFile(path)
	b, err := Open(path)
	if err == nil {
		b.Close()
		t.Errorf("%s: opened, want %v", path, kind)
		return
	}
	var open *OpenError
	if !errors.As(err, &open) || !errors.Is(err, kind) || !strings.Contains(err.Error(), word) || open.Hint() == "" {
		t.Errorf("%s: error %q, hint %v; want one that says %q and is %q", path, err, open, word, kind)
	}
	if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
		t.Errorf("%s was changed", path)
	}
}

// database makes a SQLite file with what the statements put into it.
func database(t *testing.T, path, statements string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(statements); err != nil {
		t.Fatal(err)
	}
}

func TestOpenRefusesWhatIsNoBook(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	write := func(name, text string) string {
		t.Helper()
		if err := os.WriteFile(at(name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return at(name)
	}
	misfit(t, at("missing.book"), fs.ErrNotExist, "is not there")
	misfit(t, dir, ErrFolder, "folder")
	misfit(t, write("empty.book", ""), ErrNotDatabase, "empty")
	misfit(t, write("notes.txt", "this is no book"), ErrNotDatabase, "not a plant book")
	misfit(t, write("long.txt", strings.Repeat("this is no book ", 1000)), ErrNotDatabase, "not a plant book")
	misfit(t, write("torn.book", magic+strings.Repeat("x", 200)), ErrDamaged, "damaged")
	database(t, at("foreign.db"), "CREATE TABLE t (x); INSERT INTO t VALUES (1)")
	misfit(t, at("foreign.db"), ErrForeign, "another program")
	database(t, at("newer.book"), fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = 99; CREATE TABLE t (x)", applicationID))
	misfit(t, at("newer.book"), ErrNewer, "newer feedline")
}

func TestCreateOverwritesNothing(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	if _, err := Create(b.Path()); !errors.Is(err, fs.ErrExist) {
		t.Errorf("error %v, want fs.ErrExist", err)
	}
	keeps(t, b, small())
	if _, err := Create(filepath.Join(t.TempDir(), "no", "plant.book")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("in a folder that is not there: %v, want fs.ErrNotExist", err)
	}
	left := filepath.Join(t.TempDir(), "plant.book")
	if err := os.WriteFile(left+"-wal", nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Create(left); !errors.Is(err, fs.ErrExist) || !strings.Contains(err.Error(), "-wal") {
		t.Errorf("beside the log of a book that is gone: %v", err)
	}
}

func TestCreateLeavesNothingElse(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"plant.book", "wärme & co? 100%#1.book"} {
		b, err := Create(filepath.Join(dir, name))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		mustSave(t, b, small())
		if err := b.Close(); err != nil {
			t.Fatal(err)
		}
		b, err = Open(filepath.Join(dir, name))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		keeps(t, b, small())
		if err := b.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if got := names(t, dir); len(got) != 2 {
		t.Errorf("files %q, want the two books alone", got)
	}
}

func names(t *testing.T, dir string) []string {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range list {
		all = append(all, e.Name())
	}
	return all
}

func TestPragmasHoldOnEveryConnection(t *testing.T) {
	b := fresh(t)
	for range connections {
		c, err := b.db.Conn(ctx)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		for pragma, want := range map[string]string{"foreign_keys": "1", "journal_mode": "wal", "busy_timeout": busyMillis, "synchronous": "2"} {
			var got string
			if err := c.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&got); err != nil || got != want {
				t.Errorf("%s = %s, %v; want %s", pragma, got, err, want)
			}
		}
	}
}

// nextSchema is the schema with one more step, which no book has seen.
func nextSchema(t *testing.T, step string) migrations {
	t.Helper()
	files := fstest.MapFS{}
	names, err := fs.Glob(schema().files, "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		text, err := fs.ReadFile(schema().files, name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = &fstest.MapFile{Data: text}
	}
	next := schema().latest() + 1
	text := fmt.Sprintf("-- +goose Up\nPRAGMA user_version = %d;\nCREATE TABLE trial (x TEXT) STRICT;\n%s\n", next, step)
	files[fmt.Sprintf("%05d_trial.sql", next)] = &fstest.MapFile{Data: []byte(text)}
	return migrations{files}
}

const trialStep = "INSERT INTO trial VALUES ('here');"

func TestOlderBookIsBroughtUpToDateWithACopy(t *testing.T) {
	old := fresh(t)
	mustSave(t, old, small())
	path := old.Path()
	if err := old.Close(); err != nil {
		t.Fatal(err)
	}
	var wait sync.WaitGroup
	for range 3 { // several programs at once
		wait.Go(func() {
			b, err := open(path, nextSchema(t, trialStep))
			if err != nil {
				t.Errorf("open: %v", err)
				return
			}
			defer b.Close()
			var word string
			if err := b.db.QueryRow("SELECT x FROM trial").Scan(&word); err != nil || word != "here" {
				t.Errorf("new table: %q, %v", word, err)
			}
			keeps(t, b, small())
		})
	}
	wait.Wait()
	misfit(t, path, ErrNewer, fmt.Sprint("version is ", schema().latest()+1))
	copies := 0
	for _, name := range names(t, filepath.Dir(path)) {
		if strings.HasPrefix(name, fmt.Sprint("plant.book.bak-v", schema().latest())) {
			copies++
			b, err := Open(filepath.Join(filepath.Dir(path), name))
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			keeps(t, b, small())
			b.Close()
		}
	}
	if copies == 0 {
		t.Errorf("no copy among %q", names(t, filepath.Dir(path)))
	}
	b, err := open(path, nextSchema(t, trialStep))
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if n := strings.Count(strings.Join(names(t, filepath.Dir(path)), " "), ".bak-"); n != copies {
		t.Errorf("%d copies after a book up to date was opened, %d before", n, copies)
	}
}

func TestFailedStepLeavesTheOldBook(t *testing.T) {
	old := fresh(t)
	mustSave(t, old, small())
	bad := nextSchema(t, "INSERT INTO nowhere VALUES (1);")
	if b, err := open(old.Path(), bad); err == nil {
		b.Close()
		t.Fatal("a step that fails: no error")
	}
	b, err := Open(old.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	keeps(t, b, small())
}

// A page overwritten in the middle of the file is reported as damage, not as an empty plant.
func TestDamageIsReported(t *testing.T) {
	b := fresh(t)
	in := small()
	for i := range 2000 {
		o := in.Orders[0]
		o.Code = fmt.Sprint("O-", i)
		in.Orders = append(in.Orders, o)
	}
	mustSave(t, b, in)
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(b.Path())
	if err != nil {
		t.Fatal(err)
	}
	for at := 60 * 4096; at < 160*4096 && at < len(data); at++ {
		data[at] = 0xAA
	}
	if err := os.WriteFile(b.Path(), data, 0o644); err != nil {
		t.Fatal(err)
	}
	again, err := Open(b.Path())
	if err == nil {
		defer again.Close()
		_, _, err = again.Load(ctx)
	}
	if !errors.Is(err, ErrDamaged) {
		t.Errorf("error %v, want ErrDamaged", err)
	}
}

// SQLite's own "database is locked" is put in words with a remedy.
func TestBusyIsPutInWords(t *testing.T) {
	b := fresh(t)
	tx, err := b.db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	other, err := sql.Open("sqlite", b.Path()+"?_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	_, err = other.Begin()
	if err = openTrouble(b.Path(), err); !errors.Is(err, ErrBusy) || !strings.Contains(err.Error(), "in use") {
		t.Errorf("error %v, want ErrBusy", err)
	}
}

// TestNoCopyOfANewerBook: a process that comes to make its copy when another has brought the book up to date leaves none that says it is older.
func TestNoCopyOfANewerBook(t *testing.T) {
	b := fresh(t)
	defer b.Close()
	if err := backUp(b.db, b.Path(), schema().latest()-1); err != nil {
		t.Fatal(err)
	}
	for _, name := range names(t, filepath.Dir(b.Path())) {
		if strings.Contains(name, ".bak-") {
			t.Errorf("left %s", name)
		}
	}
	if err := backUp(b.db, b.Path(), schema().latest()); err != nil {
		t.Fatal(err)
	}
	if all := strings.Join(names(t, filepath.Dir(b.Path())), " "); !strings.Contains(all, fmt.Sprint(".bak-v", schema().latest())) {
		t.Errorf("no copy among %s", all)
	}
}
