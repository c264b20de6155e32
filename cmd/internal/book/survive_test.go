package book

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"feedline/planner"
	"feedline/planner/records"
)

// How long the long versions of these tests are, in the environment:
//
//	FEEDLINE_KILLS=500 go test ./cmd/internal/book -run TestKilledAtAnyMoment -v -timeout 30m
//	FEEDLINE_HAMMER=60s go test ./cmd/internal/book -run TestHammer -v -timeout 5m
const (
	killsVariable  = "FEEDLINE_KILLS"
	hammerVariable = "FEEDLINE_HAMMER"
	childDeed      = "FEEDLINE_TEST_DEED" // what the child does
	childFolder    = "FEEDLINE_TEST_DIR"  // and where backups go
)

// laden is small with so many orders that writing it takes a while; n is in it twice, far apart.
func laden(n int) *planner.Input {
	in := small()
	in.Plant.Name = fmt.Sprint("works ", n)
	for i := range 150 {
		o := in.Orders[0]
		o.Code, o.Customer = fmt.Sprintf("O-%03d", i), fmt.Sprint("customer ", n)
		in.Orders = append(in.Orders, o)
	}
	return in
}

// ladenNumber is n of laden, an error if the two places do not agree.
func ladenNumber(in *planner.Input) (int, error) {
	n, err := strconv.Atoi(strings.TrimPrefix(in.Plant.Name, "works "))
	if err != nil {
		return 0, err
	}
	for _, o := range in.Orders[1:] {
		if o.Customer != fmt.Sprint("customer ", n) {
			return 0, fmt.Errorf("half written: %s of %q in the book of works %d", o.Code, o.Customer, n)
		}
	}
	return n, nil
}

// deedOf does something over and over, and says "begin N" before and "done N" after each time.
func deedOf(name, path string) error {
	if name == "migrate" {
		fmt.Println("begin 1")
		b, err := Open(path)
		if err != nil {
			return err
		}
		fmt.Println("done 1")
		return b.Close()
	}
	b, err := Open(path)
	if err != nil {
		return err
	}
	defer b.Close()
	in, _, err := b.Load(ctx)
	if err != nil {
		return err
	}
	from, err := ladenNumber(in)
	if err != nil {
		return err
	}
	do := map[string]func(n int) error{
		"import": func(n int) error { _, err := b.Save(ctx, laden(n), SaveOptions{Note: "import"}); return err },
		"plan": func(n int) error {
			_, err := b.SavePlan(ctx, plans().Example(n%5), PlanMeta{Note: fmt.Sprint("plan ", n)})
			return err
		},
		"record": func(n int) error {
			_, err := b.Record(ctx, RecordOptions{}, records.Count{Code: fmt.Sprint("K-", os.Getpid(), "-", n), Day: monday + 3, Counted: records.InPellets, Item: "G", Mass: 500})
			return err
		},
		"backup": func(int) error {
			file, _, err := b.BackupInto(ctx, os.Getenv(childFolder), 4)
			if err == nil && file == "" {
				err = errors.New("no file")
			}
			return err
		},
		"alert": func(n int) error {
			return b.ChangeAlerts(ctx, RightWatch, func([]StoredAlert) (AlertChange, error) {
				a := &StoredAlert{Key: fmt.Sprint("k/", os.Getpid(), "/", n), Open: true, Body: json.RawMessage(`{}`)}
				return AlertChange{Alerts: []*StoredAlert{a}, Messages: func() ([]Outgoing, error) { return []Outgoing{{Channel: "file", Body: json.RawMessage(`{}`)}}, nil }}, nil
			})
		},
	}[name]
	for n := from + 1; ; n++ {
		fmt.Println("begin", n)
		if err := do(n); err != nil {
			return err
		}
		fmt.Println("done", n)
	}
}

// killed starts a deed, kills it at a random moment after it began, and returns what it said last.
func killed(t *testing.T, name, path, dir string, random *rand.Rand, longest time.Duration) (said string, n int, dones int) {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), childBook+"="+path, childDeed+"="+name, childFolder+"="+dir)
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		t.Fatalf("%s ended before it began: %v", name, c.Wait())
	}
	last := lines.Text()
	var wait sync.WaitGroup
	wait.Go(func() {
		time.Sleep(time.Duration(random.Int64N(int64(longest))))
		_ = c.Process.Kill() // it may have ended
	})
	for lines.Scan() {
		last = lines.Text()
		if strings.HasPrefix(last, "done") {
			dones++
		}
	}
	wait.Wait()
	_ = c.Wait()
	if _, err := fmt.Sscan(last, &said, &n); err != nil || said != "begin" && said != "done" {
		t.Fatalf("%s said %q", name, last)
	}
	return said, n, dones
}

// lengthOf is a variable's number, or the short one.
func lengthOf(t *testing.T, variable string, short int) int {
	t.Helper()
	s := os.Getenv(variable)
	if s == "" {
		return short
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 {
		t.Fatalf("%s=%q is no number", variable, s)
	}
	return n
}

// A program that is killed at any moment of an import, a record, a plan, an alert, a backup or an upgrade loses nothing that was committed, leaves
// nothing half done, and the next one needs no repair.
func TestKilledAtAnyMoment(t *testing.T) {
	kills := lengthOf(t, killsVariable, 18)
	random := rand.New(rand.NewPCG(5, uint64(kills)))
	k := newKiller(t, random)
	for n := range kills {
		if n%90 == 0 { // a book that stays small is proven sooner
			k.newBook()
			fmt.Fprintf(os.Stderr, "%d of %d kills\n", n, kills)
		}
		k.kill(n)
	}
	within, count, committed := k.within, k.count, k.total
	t.Logf("%d kills; within the transaction: %v of %v; committed %v, all there", kills, within, count, committed)
	if sum(within) == 0 {
		t.Error("no program was killed within a transaction: nothing was tested")
	}
}

// killer kills programs at work on a book.
type killer struct {
	t         *testing.T
	random    *rand.Rand
	path, dir string
	within    map[string]int // killed within the transaction, by deed
	cutOff    map[string]int // the same, on this book
	count     map[string]int // killed
	committed map[string]int // plans, entries, alerts that were said to be done on this book
	total     map[string]int // and on all
}

func newKiller(t *testing.T, random *rand.Rand) *killer {
	return &killer{t: t, random: random, within: map[string]int{}, count: map[string]int{}, total: map[string]int{}}
}

func (k *killer) newBook() {
	k.t.Helper()
	k.cutOff, k.committed = map[string]int{}, map[string]int{}
	k.path, k.dir = filepath.Join(k.t.TempDir(), "plant.book"), k.t.TempDir()
	b, err := Create(k.path)
	if err != nil {
		k.t.Fatal(err)
	}
	mustSave(k.t, b, laden(0))
	if err := b.Close(); err != nil {
		k.t.Fatal(err)
	}
}

// longest is the latest moment of a kill after a deed began.
var longest = map[string]time.Duration{"import": 250 * time.Millisecond, "plan": 60 * time.Millisecond, "record": 100 * time.Millisecond,
	"backup": 300 * time.Millisecond, "alert": 60 * time.Millisecond}

// kill kills the n-th program and proves what it leaves.
func (k *killer) kill(n int) {
	t := k.t
	t.Helper()
	deeds := []string{"import", "plan", "record", "backup", "migrate", "alert"}
	name := deeds[n%len(deeds)]
	k.count[name]++
	if name == "migrate" {
		if killedUpgrade(t, 1+n/len(deeds)%(schema().latest()-1), k.random) {
			k.within[name]++
		}
		return
	}
	said, number, dones := killed(t, name, k.path, k.dir, k.random, longest[name])
	if said == "begin" {
		k.within[name]++
		k.cutOff[name]++
	}
	k.committed[name] += dones
	k.total[name] += dones
	r := proven(t, k.path) // opens it too: nothing was repaired
	in, _ := reopened(t, k.path)
	have, err := ladenNumber(in)
	if err != nil {
		t.Fatalf("kill %d, %s: %v", n, name, err)
	}
	if name == "import" && (have < number-1 || have > number || said == "done" && have != number) {
		t.Fatalf("kill %d: the import said %s %d, the book holds %d", n, said, number, have)
	}
	for what, now := range map[string]int{"plan": r.Plans, "record": r.Entries, "alert": r.Alerts} {
		if extra := now - k.committed[what]; extra < 0 || extra > k.cutOff[what] {
			t.Fatalf("kill %d, %s: %d of %s in the book, %d were done and %d cut off", n, name, now, what, k.committed[what], k.cutOff[what])
		}
	}
	if name == "backup" {
		soundBackups(t, k.path, k.dir)
	}
}

func sum(m map[string]int) (n int) {
	for _, x := range m {
		n += x
	}
	return n
}

func reopened(t *testing.T, path string) (*planner.Input, Version) {
	t.Helper()
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	return mustLoad(t, b)
}

// soundBackups fails unless every file that has a backup's name is whole.
func soundBackups(t *testing.T, path, dir string) {
	t.Helper()
	all, err := Backups(path, dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range all {
		proven(t, file)
	}
}

// killedUpgrade kills an upgrade of a book of an older version and reports whether it died within it. The book then is either of
// them, whole, and opens.
func killedUpgrade(t *testing.T, version int, random *rand.Rand) (within bool) {
	t.Helper()
	path := unpackPast(t, version)
	said, _, _ := killed(t, "migrate", path, "", random, 40*time.Millisecond)
	if _, err := probe(path, schema().latest()); err != nil {
		t.Fatalf("after an upgrade from version %d was killed: %v", version, err)
	}
	b, err := Open(path)
	if err != nil {
		t.Fatalf("after an upgrade from version %d was killed: %v", version, err)
	}
	in, _ := mustLoad(t, b)
	if len(in.Orders) != 1 {
		t.Fatalf("%d orders after an upgrade was killed", len(in.Orders))
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	proven(t, path)
	copies, err := filepath.Glob(path + ".bak-*")
	if err != nil || len(copies) == 0 {
		t.Fatalf("no copy beside an upgraded book: %v", err)
	}
	for _, c := range copies {
		if wrong, err := soundness(ctx, c, -1); err != nil || len(wrong) > 0 {
			t.Fatalf("%s: %q, %v", c, wrong, err)
		}
	}
	return said == "begin"
}

// Four processes that load, add one and save on one book lose no update, and none is shown SQLite's "database is locked".
func TestHammer(t *testing.T) {
	if path := os.Getenv("FEEDLINE_TEST_HAMMER_BOOK"); path != "" {
		hammer(t, path)
		return
	}
	long := 2 * time.Second
	if s := os.Getenv(hammerVariable); s != "" {
		var err error
		if long, err = time.ParseDuration(s); err != nil {
			t.Fatal(err)
		}
	}
	b := fresh(t)
	in := small()
	in.Orders[0].Length = 0
	mustSave(t, b, in)
	var done, stale atomic.Int64
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			c := exec.Command(os.Args[0], "-test.run", "^TestHammer$", "-test.v")
			c.Env = append(os.Environ(), "FEEDLINE_TEST_HAMMER_BOOK="+b.Path(), hammerVariable+"="+long.String())
			out, err := c.CombinedOutput()
			if err != nil || strings.Contains(string(out), "locked") {
				t.Errorf("a writer failed: %v\n%s", err, out)
			}
			for line := range strings.Lines(string(out)) {
				var d, s int64
				if _, err := fmt.Sscanf(strings.TrimSpace(line), "saved %d stale %d", &d, &s); err == nil {
					done.Add(d)
					stale.Add(s)
				}
			}
		})
	}
	wait.Wait()
	got, v := mustLoad(t, b)
	if int64(got.Orders[0].Length) != done.Load() || done.Load() == 0 {
		t.Errorf("the book counts %d updates, %d were made", int64(got.Orders[0].Length), done.Load())
	}
	proven(t, b.Path())
	t.Logf("four processes, %s: %d updates, none lost; %d told that the book had changed and made anew; version %d", long, done.Load(), stale.Load(), v)
}

// hammer adds one to an order's length, over and over.
func hammer(t *testing.T, path string) {
	long, err := time.ParseDuration(os.Getenv(hammerVariable))
	if err != nil {
		t.Fatal(err)
	}
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	saved, stale := 0, 0
	for end := time.Now().Add(long); time.Now().Before(end); {
		in, v, err := b.Load(ctx)
		if err != nil {
			t.Fatal(err)
		}
		in.Orders[0].Length++
		var e *StaleError
		switch _, err := b.Save(ctx, in, SaveOptions{Expect: v}); {
		case err == nil:
			saved++
		case errors.As(err, &e):
			stale++
		default:
			t.Fatal(err)
		}
	}
	fmt.Printf("saved %d stale %d\n", saved, stale)
}
