package book

import (
	"bufio"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"feedline/planner"
)

// The test binary starts itself as another program that writes to a book, named by these variables.
const (
	childBook  = "FEEDLINE_TEST_BOOK"
	childSaves = "FEEDLINE_TEST_SAVES" // how many saves, "" for no end
)

func TestMain(m *testing.M) {
	if path := os.Getenv(childBook); path != "" {
		do := func() error { return writer(path, os.Getenv(childSaves)) }
		if name := os.Getenv(childDeed); name != "" {
			do = func() error { return deedOf(name, path) }
		}
		if err := do(); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// writer saves the inputs 0 and 1 by turns, says "save" before and "done" after each.
func writer(path, saves string) error {
	b, err := Open(path)
	if err != nil {
		return err
	}
	defer b.Close()
	end := -1
	if saves != "" {
		fmt.Sscan(saves, &end)
	}
	inputs := []*planner.Input{anInput(0), anInput(1)}
	for n := 0; n != end; n++ {
		fmt.Println("save")
		if _, err := b.Save(ctx, inputs[n%2], SaveOptions{Who: fmt.Sprint(os.Getpid())}); err != nil {
			return err
		}
		fmt.Println("done")
	}
	return nil
}

// child starts a writer.
func child(path, saves string) *exec.Cmd {
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), childBook+"="+path, childSaves+"="+saves)
	return c
}

// killInSave starts a writer, kills it after some saves and a random part of another, and reports whether it died within one.
func killInSave(t *testing.T, path string, random *rand.Rand) bool {
	t.Helper()
	c := child(path, "")
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	said := bufio.NewScanner(out)
	last := ""
	for range 1 + 2*random.IntN(4) {
		if !said.Scan() {
			t.Fatalf("the writer ended: %v", c.Wait())
		}
		last = said.Text()
	}
	time.Sleep(time.Duration(random.Int64N(int64(12 * time.Millisecond))))
	if err := c.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	for said.Scan() {
		last = said.Text()
	}
	_ = c.Wait() // it was killed
	if last != "save" && last != "done" {
		t.Fatalf("the writer said %q", last)
	}
	return last == "save"
}

// wholeBook fails unless the book is sound and holds exactly one of the inputs, and its log agrees with its version.
func wholeBook(t *testing.T, path string, allowed ...*planner.Input) {
	t.Helper()
	b, err := Open(path)
	if err != nil {
		t.Fatalf("open: %v", err)
	}
	defer b.Close()
	var sound string
	if err := b.db.QueryRow("PRAGMA integrity_check").Scan(&sound); err != nil || sound != "ok" {
		t.Fatalf("integrity check: %q, %v", sound, err)
	}
	var broken, newest int
	if err := b.db.QueryRow("SELECT (SELECT count(*) FROM pragma_foreign_key_check), (SELECT max(version) FROM changes)").Scan(&broken, &newest); err != nil || broken != 0 {
		t.Fatalf("%d broken references, %v", broken, err)
	}
	in, v := mustLoad(t, b)
	if int(v) != newest {
		t.Fatalf("version %d, the log ends at %d", v, newest)
	}
	for _, a := range allowed {
		if cmp.Equal(a, in, same) {
			return
		}
	}
	t.Fatalf("the book holds none of the inputs:\n%s", cmp.Diff(allowed[0], in, same))
}

// A writer that is killed at any moment leaves the book as it was before or after the save.
func TestKilledWriterLeavesOldOrNew(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, anInput(0))
	path := b.Path()
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	const enough, most = 12, 60
	random := rand.New(rand.NewPCG(1, 2))
	within, tries := 0, 0
	for ; within < enough && tries < most; tries++ {
		if killInSave(t, path, random) {
			within++
		}
		wholeBook(t, path, anInput(0), anInput(1))
	}
	t.Logf("%d of %d writers were killed within a save", within, tries)
	if within == 0 {
		t.Error("no writer was killed within a save: nothing was tested")
	}
}

// Programs that write at once wait for one another: each save takes effect once, and none is told of a lock.
func TestWritersWaitForOneAnother(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, anInput(0))
	var wait sync.WaitGroup
	const saves = 8
	for range 2 {
		wait.Go(func() {
			if out, err := child(b.Path(), fmt.Sprint(saves)).CombinedOutput(); err != nil || strings.Count(string(out), "done") != saves {
				t.Errorf("writer in another process: %v\n%s", err, out)
			}
		})
	}
	other, err := Open(b.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	for _, x := range []*Book{b, other} {
		wait.Go(func() {
			for n := range saves {
				if _, err := x.Save(ctx, anInput(n%2), SaveOptions{}); err != nil {
					t.Errorf("writer in this process: %v", err)
				}
				if _, _, err := x.Load(ctx); err != nil {
					t.Errorf("reader: %v", err)
				}
			}
		})
	}
	wait.Wait()
	wholeBook(t, b.Path(), anInput(0), anInput(1))
}

// Of writers that loaded the same version exactly one is let through.
func TestOneOfTwoWinsAVersion(t *testing.T) {
	b := fresh(t)
	_, v := mustLoad(t, b)
	errs := make([]error, 4)
	var wait sync.WaitGroup
	for i := range errs {
		wait.Go(func() {
			in := small()
			in.Plant.Name = fmt.Sprint("works ", i)
			_, errs[i] = b.Save(ctx, in, SaveOptions{Expect: v})
		})
	}
	wait.Wait()
	won := 0
	for _, err := range errs {
		var stale *StaleError
		switch {
		case err == nil:
			won++
		case !errors.As(err, &stale):
			t.Errorf("error %v, want a stale one", err)
		}
	}
	if won != 1 {
		t.Errorf("%d writers won, want 1", won)
	}
}
