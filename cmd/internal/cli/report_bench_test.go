//go:build unix

package cli

import (
	"bytes"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/cmd/internal/report/csv"
	"feedline/cmd/internal/report/html"
	"feedline/cmd/internal/report/ics"
	"feedline/cmd/internal/report/linesheet"
	"feedline/cmd/internal/report/reporttest"
	"feedline/cmd/internal/report/view"
	"feedline/cmd/internal/report/xlsx"
	"feedline/planner"
)

// BenchmarkReport measures what each form of a report takes in processor time, of a plan as large as that of 24 lines and 120 profiles
// over a year. The peer is the JSON of the same plan: x_json is the ratio to it; that of SQLite's shell dumping a book with the plan is
// printed beside where it is installed.
func BenchmarkReport(b *testing.B) {
	in, p := reporttest.Big()
	forms := []struct {
		name  string
		write func(io.Writer) error
	}{
		{"json", func(w io.Writer) error { return report.JSON(w, in, p) }},
		{"html", func(w io.Writer) error { return html.Write(w, in, p, html.Options{}) }},
		{"xlsx", func(w io.Writer) error { return xlsx.Write(w, in, p, xlsx.Options{}) }},
		{"csv", func(w io.Writer) error { csv.Files(in, p, csv.Options{}); return nil }},
		{"ics", func(w io.Writer) error { return ics.Write(w, in, p, ics.Options{}) }},
		{"txt", func(w io.Writer) error { return report.Full(w, in, p, report.Options{Width: 100}, view.Options{}) }},
		{"sheets", func(w io.Writer) error { return linesheet.HTML(w, in, p, linesheet.Options{}) }},
	}
	peer := 0.0
	for _, f := range forms {
		b.Run(f.name, func(b *testing.B) {
			size, before := 0, processor(b)
			for b.Loop() {
				var out bytes.Buffer
				if err := f.write(&out); err != nil {
					b.Fatal(err)
				}
				size = out.Len()
			}
			each := (processor(b) - before).Seconds() / float64(b.N)
			if f.name == "json" {
				peer = each
			}
			b.ReportMetric(1000*each, "cpu_ms/op")
			b.ReportMetric(each/peer, "x_json")
			b.ReportMetric(float64(size)/1024, "KiB")
		})
	}
	path := bigBook(b, in, p)
	for _, kind := range []string{"html", "xlsx"} {
		b.Run("command-"+kind, func(b *testing.B) { command(b, path, kind, peer) })
	}
	b.Run("sqlite3-dump", func(b *testing.B) { dump(b, path, peer) })
}

// bigBook is a book that holds the plan.
func bigBook(b *testing.B, in *planner.Input, p *planner.Plan) string {
	path := filepath.Join(b.TempDir(), "big.book")
	k, err := book.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	_, err = k.Save(b.Context(), in, book.SaveOptions{Who: "bench"})
	_, err2 := k.SavePlan(b.Context(), p, book.PlanMeta{})
	if err := errors.Join(err, err2, k.Close()); err != nil {
		b.Fatal(err)
	}
	return path
}

// command is the whole of feedline report, reading the book included.
func command(b *testing.B, path, kind string, peer float64) {
	before := processor(b)
	for b.Loop() {
		env := Env{In: strings.NewReader(""), Out: io.Discard, Err: os.Stderr, Getenv: func(string) string { return "" }, Now: time.Now}
		if code := Run(b.Context(), []string{"report", "-", "--as", kind, "--book", path, "--quiet"}, env); code != 0 {
			b.Fatalf("exit code %d", code)
		}
	}
	each := (processor(b) - before).Seconds() / float64(b.N)
	b.ReportMetric(1000*each, "cpu_ms/op")
	b.ReportMetric(each/peer, "x_json")
}

// processor is the time that this process has spent on processors.
func processor(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// dump has SQLite's shell write every value of the stored plan.
func dump(b *testing.B, path string, peer float64) {
	if _, err := exec.LookPath("sqlite3"); err != nil {
		b.Skip("sqlite3 is not installed")
	}
	total, n := time.Duration(0), 0
	for b.Loop() {
		cmd := exec.Command("sqlite3", path)
		cmd.Stdin, cmd.Stderr = strings.NewReader("SELECT j.fullkey, j.atom FROM plans, json_tree(plans.body) j;"), os.Stderr
		if err := cmd.Run(); err != nil {
			b.Fatal(err)
		}
		total, n = total+cmd.ProcessState.UserTime()+cmd.ProcessState.SystemTime(), n+1
	}
	each := total.Seconds() / float64(n)
	b.ReportMetric(1000*each, "cpu_ms/op")
	b.ReportMetric(each/peer, "x_json")
}
