//go:build linux

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/txtar"
)

// TestSoak runs a watch, two writers, two consoles, plans, backups, answers to alerts and checks on one book, each a process of its own,
// kills and freezes them at random, and then proves the book whole and every committed change present. It is long, and so runs only when asked to:
//
//	FEEDLINE_SOAK=10m go test ./cmd/feedline -run TestSoak -v -timeout 30m
//
// Its processes run at low priority on one processor each, with pauses, so that others can work beside it.
func TestSoak(t *testing.T) {
	text := os.Getenv("FEEDLINE_SOAK")
	if text == "" {
		t.Skip("set FEEDLINE_SOAK to its length, such as 10m")
	}
	long, err := time.ParseDuration(text)
	if err != nil {
		t.Fatal(err)
	}
	s := newSoak(t)
	ctx, stop := context.WithTimeout(context.Background(), long)
	defer stop()
	var wait sync.WaitGroup
	for _, f := range []func(context.Context){s.watch, s.killer, s.console("anna", 1), s.console("bert", 2),
		s.every(700*time.Millisecond, s.write("O-1")), s.every(900*time.Millisecond, s.write("O-2")),
		s.every(9*time.Second, s.command("plan", "plan", "--work", "2000000", "--quiet")),
		s.every(11*time.Second, s.command("backup", "backup")),
		s.every(13*time.Second, s.command("ack", "alerts", "ack", "1")),
		s.every(17*time.Second, s.command("check", "check")),
		s.every(19*time.Second, s.command("status", "watch", "--status"))} {
		wait.Go(func() { f(ctx) })
	}
	began := time.Now()
	wait.Wait()
	s.prove(time.Since(began))
}

// soak is what runs.
type soak struct {
	t       *testing.T
	dir     string
	program string

	mu      sync.Mutex
	alive   map[*exec.Cmd]string // processes at work, and what they do
	shot    map[*exec.Cmd]bool   // those that were killed
	count   map[string]int
	cpu     time.Duration
	random  *rand.Rand
	done    map[string]int // the last number that was written and said to be, by order
	tried   map[string]int // and the last that was tried
	acked   map[string][]int
	unclean []string
}

func newSoak(t *testing.T) *soak {
	dir := t.TempDir()
	s := &soak{t: t, dir: dir, alive: map[*exec.Cmd]string{}, shot: map[*exec.Cmd]bool{}, count: map[string]int{}, random: rand.New(rand.NewPCG(1, 2)),
		done: map[string]int{}, tried: map[string]int{}, acked: map[string][]int{}}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	s.program = filepath.Join(dir, "feedline") // the test binary is feedline under that name, see TestMain
	if err := os.Symlink(self, s.program); err != nil {
		t.Fatal(err)
	}
	script, err := txtar.ParseFile("../../testdata/script/walkthrough.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range script.Files {
		s.file(f.Name, string(f.Data))
	}
	s.file("watch.toml", `[schedule]
plan = "@every 20s"
digest = "@every 15s"
reminder = "@every 15s"
backup = "@every 7s"
check = "@every 30s"
[plan]
work = 2000000
quiet = "3s"
[backup]
keep = 5
[file]
path = "alerts.jsonl"
`)
	for _, args := range [][]string{{"init"}, {"import", "works"}} {
		if out, err := s.start("set up", args...); err != nil {
			t.Fatalf("%v: %v\n%s", args, err, out)
		}
	}
	return s
}

func (s *soak) file(name, text string) {
	path := filepath.Join(s.dir, name)
	if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, []byte(text), 0o644)); err != nil {
		s.t.Fatal(err)
	}
}

// start runs feedline to its end.
func (s *soak) start(what string, args ...string) (string, error) {
	c := exec.Command("nice", append([]string{"-n", "10", s.program}, args...)...)
	c.Dir = s.dir
	c.Env = append(os.Environ(), "GOMAXPROCS=1", "FEEDLINE_BOOK=plant.book", "NO_COLOR=1")
	var out bytes.Buffer
	c.Stdout, c.Stderr = &out, &out
	s.mu.Lock()
	if err := c.Start(); err != nil {
		s.mu.Unlock()
		return "", err
	}
	s.alive[c] = what
	s.mu.Unlock()
	err := c.Wait()
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.alive, c)
	s.count[what]++
	if c.ProcessState != nil {
		s.cpu += c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	}
	for _, bad := range []string{"database is locked", "panic", "goroutine ", "SQLITE"} {
		if strings.Contains(out.String(), bad) {
			s.unclean = append(s.unclean, what+" said: "+out.String())
		}
	}
	if s.shot[c] {
		return out.String(), errShot
	}
	return out.String(), err
}

var errShot = errors.New("killed by the test")

func (s *soak) wrong(what, out string, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.unclean = append(s.unclean, fmt.Sprintf("%s: %v: %s", what, err, out))
}

// every does something again and again, with pauses.
func (s *soak) every(pause time.Duration, f func()) func(context.Context) {
	return func(ctx context.Context) {
		for ctx.Err() == nil {
			f()
			select {
			case <-ctx.Done():
			case <-time.After(pause):
			}
		}
	}
}

// write imports one order's length, counted up. What another writer made stale is written again, as the hint says.
func (s *soak) write(order string) func() {
	profile := map[string]string{"O-1": "SK80", "O-2": "CO50"}[order]
	return func() {
		s.mu.Lock()
		s.tried[order]++
		n := s.tried[order]
		s.mu.Unlock()
		if n%10 == 0 { // a break, so that somebody at a console gets to release a plan
			time.Sleep(12 * time.Second)
		}
		s.file(order+"/orders.csv", fmt.Sprintf("code,customer,profile,length [m],due,priority\n%s,Hill,%s,%d,2027-01-15,1\n", order, profile, n))
		for {
			out, err := s.start("import", "import", order)
			switch {
			case err == nil:
				s.mu.Lock()
				s.done[order] = n
				s.acked[order] = append(s.acked[order], n)
				s.mu.Unlock()
			case errors.Is(err, errShot):
			case strings.Contains(out, "the book has changed since it was loaded"):
				s.mu.Lock()
				s.count["made anew"]++
				s.mu.Unlock()
				continue
			default:
				s.wrong("import", out, err)
			}
			return
		}
	}
}

// command runs a command that must end well unless it is killed.
func (s *soak) command(what string, args ...string) func() {
	return func() {
		out, err := s.start(what, args...)
		switch {
		case err == nil, errors.Is(err, errShot):
		case what == "status": // says that the watch was just killed
		case what == "ack" && strings.Contains(out, "no open alert"):
		default:
			s.wrong(what, out, err)
		}
	}
}

// watch keeps a watch running, and ends it by SIGTERM.
func (s *soak) watch(ctx context.Context) {
	var last *exec.Cmd
	go func() {
		<-ctx.Done()
		for range 100 {
			s.mu.Lock()
			for c, what := range s.alive {
				if what == "watch" && c != last {
					last = c
					_ = c.Process.Signal(syscall.SIGCONT)
					_ = c.Process.Signal(syscall.SIGTERM)
				}
			}
			s.mu.Unlock()
			time.Sleep(50 * time.Millisecond)
		}
	}()
	for ctx.Err() == nil {
		out, err := s.start("watch", "watch")
		if err != nil && !errors.Is(err, errShot) {
			s.wrong("watch", out, err)
			time.Sleep(time.Second)
		}
		if ctx.Err() != nil && err == nil && !strings.Contains(out, "stopped") {
			s.wrong("watch", out, errors.New("it did not say that it stopped"))
		}
	}
}

// killer kills a process at random every so often, or freezes it for two seconds.
func (s *soak) killer(ctx context.Context) {
	for ctx.Err() == nil {
		s.mu.Lock()
		pause := time.Duration(1000+s.random.IntN(5000)) * time.Millisecond
		s.mu.Unlock()
		select {
		case <-ctx.Done():
			return
		case <-time.After(pause):
		}
		s.mu.Lock()
		var list []*exec.Cmd
		for c, what := range s.alive {
			if what != "watch" || s.random.IntN(4) == 0 {
				list = append(list, c)
			}
		}
		if len(list) == 0 {
			s.mu.Unlock()
			continue
		}
		c := list[s.random.IntN(len(list))]
		if s.random.IntN(4) == 0 {
			s.count["frozen"]++
			_ = c.Process.Signal(syscall.SIGSTOP)
			time.AfterFunc(2*time.Second, func() { _ = c.Process.Signal(syscall.SIGCONT) })
		} else {
			s.count["killed"]++
			s.count["killed "+s.alive[c]]++
			s.shot[c] = true
			_ = c.Process.Kill()
		}
		s.mu.Unlock()
	}
}

// prove proves the book whole.
func (s *soak) prove(took time.Duration) {
	t := s.t
	for _, u := range s.unclean {
		t.Error(u)
	}
	out, err := s.start("proof", "check", "--json")
	var r struct {
		Whole                                    bool
		Version, Rows, Changes, Revisions, Plans int
		Wrong, Derived                           []string
	}
	if jsonErr := json.Unmarshal([]byte(out), &r); err != nil || jsonErr != nil || !r.Whole {
		t.Errorf("the book is not whole: %v, %v\n%s", err, jsonErr, out)
	}
	written := s.written()
	for _, order := range []string{"O-1", "O-2"} {
		for _, n := range s.acked[order] {
			if !written[order][n] {
				t.Errorf("%s: the import of %d was said to be done and is not in the log", order, n)
			}
		}
		if last := s.last(order); last < s.done[order] || last > s.tried[order] {
			t.Errorf("%s holds %d; %d was done and %d tried last", order, last, s.done[order], s.tried[order])
		}
	}
	backups, err := filepath.Glob(filepath.Join(s.dir, "backups", "*.book"))
	if err != nil || len(backups) == 0 {
		t.Errorf("no backups, %v", err)
	}
	for _, b := range backups {
		if out, err := s.start("proof", "check", "--book", b); err != nil {
			t.Errorf("%s: %v\n%s", b, err, out)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(s.dir, ".feedline-*")); len(left) > 0 {
		t.Errorf("left beside the book: %v", left)
	}
	if n := s.releases(); n < s.count["released"] {
		t.Errorf("%d releases are in the log, %d were said to be done", n, s.count["released"])
	}
	acked := len(s.acked["O-1"]) + len(s.acked["O-2"])
	t.Logf("%s: %d imports done, all in the book; %d told that it had changed and made anew; %d processes killed, %d frozen; runs %v", took.Round(time.Second),
		acked, s.count["made anew"], s.count["killed"], s.count["frozen"], s.count)
	t.Logf("the book is whole: version %d, %d rows, %d changes, %d plans, %d backups whole; %.2f processors used", r.Version, r.Rows, r.Changes, r.Plans, len(backups),
		s.cpu.Seconds()/took.Seconds())
	// On a busy machine it may be that every release is refused, as an import came first: the refusal is then what was tested.
	if acked == 0 || s.count["killed"] == 0 || r.Plans == 0 || s.count["draft made"] == 0 || s.count["released"]+s.count["release refused, book changed"] == 0 {
		t.Error("nothing was tested")
	}
}

// releases is how many releases of plans the log has.
func (s *soak) releases() (n int) {
	out, err := s.start("proof", "log", "--json", "--last", "0", "--quiet")
	if err != nil {
		s.t.Fatalf("%v\n%s", err, out)
	}
	return strings.Count(out, `"deed":"plan released"`)
}

// written is the lengths that the log has of each order.
func (s *soak) written() map[string]map[int]bool {
	out, err := s.start("proof", "log", "--json", "--last", "0", "--quiet")
	if err != nil {
		s.t.Fatalf("%v\n%s", err, out)
	}
	all := map[string]map[int]bool{"O-1": {}, "O-2": {}}
	for line := range strings.Lines(out) {
		var l struct {
			Subject string
			After   struct {
				Length float64 `json:"length_m"`
			}
		}
		if err := json.Unmarshal([]byte(line), &l); err != nil {
			s.t.Fatalf("%v: %s", err, line)
		}
		if order, ok := strings.CutPrefix(l.Subject, "orders "); ok && all[order] != nil {
			all[order][int(l.After.Length)] = true
		}
	}
	return all
}

// last is the length that the book has of an order.
func (s *soak) last(order string) int {
	dir := filepath.Join(s.dir, "out-"+order)
	if out, err := s.start("proof", "export", dir); err != nil {
		s.t.Fatalf("%v\n%s", err, out)
	}
	text, err := os.ReadFile(filepath.Join(dir, "orders.csv"))
	if err != nil {
		s.t.Fatal(err)
	}
	column := -1
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.TrimSpace(line), ",")
		for i, c := range cells {
			if strings.HasPrefix(c, "length") {
				column = i
			}
		}
		if cells[0] == order && column >= 0 {
			var n float64
			if _, err := fmt.Sscan(cells[column], &n); err != nil {
				s.t.Fatal(err)
			}
			return int(n)
		}
	}
	s.t.Fatalf("%s is not in the export:\n%s", order, text)
	return 0
}
