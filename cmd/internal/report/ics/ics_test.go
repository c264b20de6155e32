package ics

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/emersion/go-ical"

	"feedline/cmd/internal/report/reporttest"
	"feedline/planner"
)

func write(t *testing.T, in *planner.Input, p *planner.Plan, opt Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, in, p, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// read reads a calendar with another library than the one that wrote it: the events by UID.
func read(t *testing.T, text string) map[string]ical.Event {
	t.Helper()
	cal, err := ical.NewDecoder(strings.NewReader(text)).Decode()
	if err != nil {
		t.Fatal(err)
	}
	list := map[string]ical.Event{}
	for _, e := range cal.Events() {
		id, err := e.Props.Text(ical.PropUID)
		if err != nil || id == "" || list[id].Component != nil {
			t.Fatalf("UID %q, again or none: %v", id, err)
		}
		list[id] = e
	}
	return list
}

func TestGolden(t *testing.T) {
	in, p := reporttest.Full()
	reporttest.Golden(t, "full.ics", write(t, in, p, Options{Number: 3}))
}

// TestFormat holds what RFC 5545 asks of every file: lines end in CRLF and are no longer than 75 octets (3.1), no octet sequence is
// split (3.1), the calendar has VERSION and PRODID (3.6), an event UID, DTSTAMP and DTSTART (3.6.1), all-day dates are of type DATE and
// the end is the day after (3.6.1).
func TestFormat(t *testing.T) {
	for name, make := range map[string]func() (*planner.Input, *planner.Plan){"full": reporttest.Full, "hostile": reporttest.Hostile} {
		in, p := make()
		text := write(t, in, p, Options{Number: 3})
		if strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\n") || strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\r") {
			t.Errorf("%s: a line without CRLF", name)
		}
		for _, line := range strings.Split(text, "\r\n") {
			if len(line) > 75 || !utf8.ValidString(line) {
				t.Errorf("%s: line of %d octets: %q", name, len(line), line)
			}
		}
		if n := strings.Count(text, "\r\nBEGIN:VEVENT"); n != 7 {
			t.Errorf("%s: %d events, want 2 days to order by, 2 deliveries, an order with its arrival, a start", name, n)
		}
		for id, e := range read(t, text) {
			start, end := e.Props.Get(ical.PropDateTimeStart), e.Props.Get(ical.PropDateTimeEnd)
			if start == nil || end == nil || start.Params.Get("VALUE") != "DATE" || end.Params.Get("VALUE") != "DATE" {
				t.Fatalf("%s %s: start %v, end %v, want dates", name, id, start, end)
			}
			from, err1 := start.DateTime(time.UTC)
			to, err2 := end.DateTime(time.UTC)
			if err1 != nil || err2 != nil || to.Sub(from) != 24*time.Hour {
				t.Errorf("%s %s: from %v to %v (%v, %v), want a day", name, id, from, to, err1, err2)
			}
			if stamp, err := e.Props.DateTime(ical.PropDateTimeStamp, time.UTC); err != nil || !stamp.Equal(p.Made) {
				t.Errorf("%s %s: stamp %v (%v), want when the plan was made, %v", name, id, stamp, err, p.Made)
			}
			if s := e.Props.Get(ical.PropSequence); s == nil || s.Value != "3" {
				t.Errorf("%s %s: sequence %v, want the plan's number, 3", name, id, s)
			}
		}
	}
}

// TestNames: what a name holds is read back as it was, but for what iCalendar can't write.
func TestNames(t *testing.T) {
	in, p := reporttest.Full()
	p.OrderBy = p.OrderBy[:1]
	p.OrderBy[0].Lane = `A;B, C\n "D"` + " – 漢字 " + strings.Repeat("long ", 40) + "\r\nBEGIN:VALARM\x00"
	found := false
	for _, e := range read(t, write(t, in, p, Options{})) {
		s, err := e.Props.Text(ical.PropSummary)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(s, "Order by:") {
			found = true
			want := `Order by: 1 × A;B, C\n "D" – 漢字 ` + strings.Repeat("long ", 40) + "  BEGIN:VALARM for WH"
			if s != want {
				t.Errorf("summary %q, want %q", s, want)
			}
		}
		if len(e.Children) > 0 {
			t.Error("a name made an alarm")
		}
	}
	if !found {
		t.Error("no event to order by")
	}
}

// TestNextPlan: a later plan's file has the same UIDs for the same things, with a higher sequence, and cancels what is gone.
func TestNextPlan(t *testing.T) {
	in, old := reporttest.Full()
	first := read(t, write(t, in, old, Options{Number: 1}))
	_, next := reporttest.Full()
	next.Made = old.Made.Add(24 * time.Hour)
	next.Purchases = nil
	next.OrderBy[0].By += 3
	for i := range next.Lines {
		if next.Lines[i].Started {
			next.Lines[i].Bucket = 2 // the start is a week later
		}
	}
	second := read(t, write(t, in, next, Options{Number: 2, Before: []*planner.Plan{old}}))
	if len(second) != len(first)+1 {
		t.Errorf("%d events, want the %d there were and a start on another day", len(second), len(first))
	}
	moved, cancelled, fresh := 0, 0, 0
	for id, e := range second {
		was, ok := first[id]
		if !ok {
			fresh++
			continue
		}
		if e.Props.Get(ical.PropSequence).Value != "2" {
			t.Errorf("%s: sequence %s, want 2", id, e.Props.Get(ical.PropSequence).Value)
		}
		if e.Props.Get(ical.PropDateTimeStart).Value != was.Props.Get(ical.PropDateTimeStart).Value {
			moved++
		}
		if s, _ := e.Status(); s == ical.EventCancelled {
			cancelled++
			if sum, _ := e.Props.Text(ical.PropSummary); !strings.Contains(sum, "WH-ROAD") && !strings.Contains(sum, "Start") {
				t.Errorf("cancelled: %s", sum)
			}
		}
	}
	if moved != 2 || cancelled != 3 || fresh != 1 {
		t.Errorf("%d moved, %d cancelled, %d new, want 2 (to order by, and what is too late to the day of the plan), 3 (the order, its arrival, the start where it was), 1 (the start)", moved, cancelled, fresh)
	}
}

// TestReimport imports the calendars of plans whose loads and starts come and go into a calendar as RFC 5545 and 5546 have it (the same UID
// is the same event, the higher SEQUENCE counts, what is cancelled is gone): from each plan's start on the calendar then holds that plan's
// events and no others, and loads that did not change have kept their UID.
func TestReimport(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	in, base := reporttest.Full()
	held := map[string]ical.Event{}
	var before []*planner.Plan
	kept := 0
	for n := 1; n <= 40; n++ {
		_, p := reporttest.Full()
		p.Purchases = nil
		for _, b := range base.Buckets {
			for range random.IntN(3) {
				x := base.Purchases[0]
				x.OrderBy, x.Arrives = b.Span.From, b.Span.From+9
				x.Loads = 1 + random.IntN(3)
				p.Purchases = append(p.Purchases, x)
			}
		}
		for i := range p.Lines {
			p.Lines[i].Started = random.IntN(3) == 0
		}
		text := write(t, in, p, Options{Number: int64(n), Before: before})
		for id, e := range read(t, text) {
			if _, ok := held[id]; ok {
				kept++
			}
			if s, _ := e.Status(); s == ical.EventCancelled {
				delete(held, id)
				continue
			}
			held[id] = e
		}
		want := map[string]bool{}
		for _, e := range eventsOf(in, p, Options{}) {
			want[e.uid] = true
			if held[e.uid].Component == nil {
				t.Fatalf("plan %d: %s is not in the calendar", n, e.summary)
			}
		}
		for id, e := range held {
			if !want[id] {
				t.Fatalf("plan %d: the calendar still has %s", n, e.Props.Get(ical.PropSummary).Value)
			}
		}
		if before = append([]*planner.Plan{p}, before...); len(before) > 5 {
			before = before[:5]
		}
	}
	if kept < 40 {
		t.Errorf("%d events kept their UID in 40 plans", kept)
	}
	_, old := reporttest.Full()
	first := old.Purchases[0]
	first.OrderBy -= 2
	_, next := reporttest.Full()
	next.Purchases = append([]planner.Purchase{first}, next.Purchases...)
	was, is := read(t, write(t, in, old, Options{Number: 1})), read(t, write(t, in, next, Options{Number: 2, Before: []*planner.Plan{old}}))
	for id, e := range was {
		if is[id].Component == nil || is[id].Props.Get(ical.PropDateTimeStart).Value != e.Props.Get(ical.PropDateTimeStart).Value {
			t.Errorf("an earlier load more has moved %s", e.Props.Get(ical.PropSummary).Value)
		}
	}
	if len(is) != len(was)+2 {
		t.Errorf("%d events, want %d and the new load's order and arrival", len(is), len(was))
	}
}

// TestOtherPlants: the same codes in another plant are other events.
func TestOtherPlants(t *testing.T) {
	if a, b := uid("A", "start", "L1", "1"), uid("B", "start", "L1", "1"); a == b || !regexp.MustCompile(`^start-[0-9a-f]{32}@feedline$`).MatchString(a) {
		t.Errorf("UIDs %s and %s", a, b)
	}
	if uid("A", "order", "L1", "11") == uid("A", "order", "L11", "1") {
		t.Error("names run into one another")
	}
}

// TestOddFigures: no figure keeps a calendar from being written and read.
func TestOddFigures(t *testing.T) {
	for _, x := range reporttest.OddFigures {
		in, p := reporttest.Odd(x)
		read(t, write(t, in, p, Options{}))
	}
}

// TestPython has the file read by a third library, Python's icalendar.
func TestPython(t *testing.T) {
	python := "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import icalendar").Run(); err != nil {
		if os.Getenv("FEEDLINE_CI") == "1" {
			t.Fatal("python3-icalendar is not installed")
		}
		t.Skip("python3-icalendar is not installed")
	}
	in, p := reporttest.Hostile()
	text := write(t, in, p, Options{Number: 3})
	cmd := exec.Command(python, "-c", `
import sys, json, icalendar
cal = icalendar.Calendar.from_ical(sys.stdin.buffer.read())
print(json.dumps({str(e["UID"]): [str(e["SUMMARY"]), e["DTSTART"].dt.isoformat(), e["DTEND"].dt.isoformat(), str(e.get("DESCRIPTION"))] for e in cal.walk("VEVENT")}))`)
	cmd.Stdin = strings.NewReader(text)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var got map[string][4]string
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	events := eventsOf(in, p, Options{})
	if len(got) != len(events) {
		t.Errorf("%d events read, %d written", len(got), len(events))
	}
	for _, e := range events {
		// icalendar 4 reads an escaped backslash before an n as the end of a line; the reader of TestNames reads it right.
		as := func(s string) string { return strings.ReplaceAll(clean(s), `\n`, "\n") }
		if want := [4]string{as(e.summary), e.day.String(), (e.day + 1).String(), as(e.text)}; got[e.uid] != want {
			t.Errorf("read %q, want %q", got[e.uid], want)
		}
	}
}
