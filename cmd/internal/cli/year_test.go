//go:build unix

package cli

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/demo"
	"feedline/cmd/internal/sheets"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/records"
)

// aYear is the demonstration plant with ten lines that run around the clock, small loads, 5,000 orders and a year of records.
func aYear() (*planner.Input, []records.Record) {
	start := calendar.Date(2026, 11, 30)
	in := demo.Input(start)
	for i := range in.Calendar.Shifts {
		in.Calendar.Shifts[i].Weekdays = [7]bool{true, true, true, true, true, true, true}
	}
	in.Calendar.Shifts = in.Calendar.Shifts[:3]
	for i := range in.Lines {
		in.Lines[i].State, in.Lines[i].Commissioning = lines.Running, lines.Commissioning{}
	}
	for n := len(in.Lines) + 1; n <= 10; n++ {
		l := in.Lines[n-8]
		l.Code, l.Name, l.Mounted = fmt.Sprint("L", n), fmt.Sprint("Line ", n), ""
		for _, f := range in.Fits {
			if f.Line == in.Lines[n-8].Code {
				f.Line = l.Code
				in.Fits = append(in.Fits, f)
			}
		}
		in.Lines = append(in.Lines, l)
	}
	for i := range in.Lanes {
		in.Lanes[i].Load, in.Lanes[i].MinLoads = 2600, 1
	}
	for i := len(in.Orders); i < 5000; i++ {
		o := in.Orders[i%80]
		o.Code, o.Due, o.Length = fmt.Sprintf("O-%d", 5000+i), start+calendar.Day(i%180), quantity.Length(300+i%50)
		in.Orders = append(in.Orders, o)
	}
	return in, demo.History(in, start, 52)
}

// TestYearOfRecords prints what a year of records takes: to import, to estimate from, on disk, and beside the sqlite3 shell on the same
// sheets. FEEDLINE_COMPARE=1 go test ./cmd/internal/cli -run YearOfRecords -v
func TestYearOfRecords(t *testing.T) {
	if os.Getenv("FEEDLINE_COMPARE") == "" {
		t.Skip("set FEEDLINE_COMPARE=1 to measure")
	}
	in, list := aYear()
	dir := t.TempDir()
	folder, path := filepath.Join(dir, "sheets"), filepath.Join(dir, "year.book")
	if err := sheets.Write(folder, in, sheets.WriteOptions{Records: list}); err != nil {
		t.Fatal(err)
	}
	b, err := book.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	count := map[records.Kind]int{}
	for _, r := range list {
		count[r.Head().Kind]++
	}
	t.Logf("records by kind %v, orders %d", count, len(in.Orders))
	own := measured(t, syscall.RUSAGE_SELF, "import", func() error {
		next, sum, err := sheets.Read(folder, &planner.Input{}, sheets.ReadOptions{})
		if err != nil {
			return err
		}
		_, err = b.Import(context.Background(), next, book.RecordOptions{History: true}, sum.Records...)
		return err
	})
	measured(t, syscall.RUSAGE_SELF, "estimates", func() error {
		_, r, _, err := b.Estimates(context.Background(), 0)
		if err == nil && len(r.Estimates) < 100 {
			err = fmt.Errorf("only %d estimates", len(r.Estimates))
		}
		_ = estimates.Apply(in, r.Figures())
		return err
	})
	measured(t, syscall.RUSAGE_SELF, "one more run", func() error {
		_, err := b.Record(context.Background(), book.RecordOptions{}, records.Run{Day: calendar.Date(2026, 11, 30), Line: "L1", Profile: "SK80", Good: 2000, Run: 7})
		return err
	})
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("book: %.1f MB", float64(info.Size())/1e6)
	shell, err := exec.LookPath("sqlite3")
	if err != nil {
		t.Skip("no sqlite3 shell to compare with")
	}
	peer := measured(t, syscall.RUSAGE_CHILDREN, "sqlite3 .import of the same sheets", func() error {
		var script strings.Builder
		files, err := filepath.Glob(filepath.Join(folder, "*.csv"))
		for _, f := range files {
			fmt.Fprintf(&script, ".import --csv %q %s\n", f, strings.TrimSuffix(filepath.Base(f), ".csv"))
		}
		c := exec.Command(shell, filepath.Join(dir, "peer.db"))
		c.Stdin = strings.NewReader(script.String())
		out, e := c.CombinedOutput()
		if e != nil {
			return fmt.Errorf("%w: %s", e, out)
		}
		return err
	})
	t.Logf("import against the shell: %.1f× processor time, %.1f× wall", own.cpu.Seconds()/peer.cpu.Seconds(), own.wall.Seconds()/peer.wall.Seconds())
}

type taken struct{ cpu, wall time.Duration }

// measured runs f and prints its processor time and its wall time.
func measured(t *testing.T, who int, what string, f func() error) taken {
	t.Helper()
	var before, after syscall.Rusage
	began := time.Now()
	if err := syscall.Getrusage(who, &before); err != nil {
		t.Fatal(err)
	}
	if err := f(); err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	if err := syscall.Getrusage(who, &after); err != nil {
		t.Fatal(err)
	}
	cpu := func(r syscall.Rusage) time.Duration { return time.Duration(r.Utime.Nano() + r.Stime.Nano()) }
	x := taken{cpu(after) - cpu(before), time.Since(began)}
	t.Logf("%s: %.2f s processor, %.2f s wall", what, x.cpu.Seconds(), x.wall.Seconds())
	return x
}
