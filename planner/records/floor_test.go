package records

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// floor is works with three lines, one die of P and two of Q, and two shifts.
func floor() *planner.Input {
	in := works()
	in.Lines, in.Fits = nil, nil
	for _, code := range []string{"L1", "L2", "L3"} {
		in.Lines = append(in.Lines, lines.Line{Code: code})
		for _, p := range []string{"P", "Q"} {
			in.Fits = append(in.Fits, lines.Fit{Line: code, Profile: p, Melt: 74, Availability: 0.9, Quality: 0.95})
		}
	}
	in.Lines[0].Mounted, in.Lines[1].Mounted, in.Lines[2].State = "P", "Q", lines.Ready
	in.Profiles[0].Dies, in.Profiles[1].Dies = 1, 2
	in.Calendar.Shifts = []calendar.Shift{{Code: "early", Start: 6 * time.Hour}, {Code: "late", Start: 14 * time.Hour}}
	in.Reasons = append(in.Reasons, lines.Reason{Code: "IDLE", Kind: lines.PlannedStop})
	return in
}

// onLines is what is on each line, and whether it runs.
func onLines(in *planner.Input) (s string) {
	for _, ln := range in.Lines {
		s += fmt.Sprintf("%s:%s:%v ", ln.Code, ln.Mounted, map[lines.State]string{lines.Running: "runs", lines.Ready: "stands", lines.Down: "down"}[ln.State])
	}
	return s
}

// TestLinesFollowTheirRuns: the next plan begins with the dies that the records say are on the lines.
func TestLinesFollowTheirRuns(t *testing.T) {
	worked := func(code, line, profile string, day int, shift string) Run {
		return Run{Code: code, Line: line, Profile: profile, Day: day0 + calendar.Day(day), Shift: shift, Good: 1000, Run: 7}
	}
	idle := func(code, line string, day int, reason string) Run {
		return Run{Code: code, Line: line, Profile: "P", Day: day0 + calendar.Day(day), Stops: []Stopped{{reason, 8}}}
	}
	for _, c := range []struct {
		name string
		runs []Run
		want string
	}{
		{"the die that ran last", []Run{worked("1", "L1", "P", 0, ""), worked("2", "L1", "Q", 0, "")}, "L1:Q:runs L2:Q:runs L3::stands "},
		{"entered late, it is of before", []Run{worked("1", "L1", "Q", 1, ""), worked("2", "L1", "P", 0, "")}, "L1:Q:runs L2:Q:runs L3::stands "},
		{"shifts of a day in the wrong order", []Run{worked("1", "L1", "Q", 0, "late"), worked("2", "L1", "P", 0, "early")}, "L1:Q:runs L2:Q:runs L3::stands "},
		{"the only die came off another line", []Run{worked("1", "L2", "P", 0, "")}, "L1::runs L2:P:runs L3::stands "},
		{"of two dies, from the line that ran longest ago", []Run{worked("1", "L2", "Q", 0, ""), worked("2", "L1", "Q", 1, ""), worked("3", "L3", "Q", 2, "")}, "L1:Q:runs L2::runs L3:Q:runs "},
		{"a ready line that ran", []Run{worked("1", "L3", "Q", 0, "")}, "L1:P:runs L2:Q:runs L3:Q:runs "},
		{"stood as planned", []Run{idle("1", "L1", 0, "IDLE")}, "L1:P:stands L2:Q:runs L3::stands "},
		{"stood for a fault", []Run{idle("1", "L1", 0, "DIE")}, "L1:P:runs L2:Q:runs L3::stands "},
		{"stood and ran again", []Run{idle("1", "L1", 0, "IDLE"), worked("2", "L1", "P", 1, "")}, "L1:P:runs L2:Q:runs L3::stands "},
		{"a day that is still to come", []Run{worked("1", "L1", "Q", 40, ""), worked("2", "L2", "P", 0, "")}, "L1::runs L2:P:runs L3::stands "},
	} {
		in := floor()
		l := NewLedger(in)
		l.Today = day0 + 30
		for _, r := range c.runs {
			if _, _, _, err := l.Post(r, false); err != nil {
				t.Fatal(c.name, err)
			}
		}
		if got := onLines(l.Input()); got != c.want {
			t.Errorf("%s: lines stand as\n%s, want\n%s", c.name, got, c.want)
		}
		if got := onLines(in); got != "L1:P:runs L2:Q:runs L3::stands " {
			t.Errorf("%s: the ledger changed its input: %s", c.name, got)
		}
	}
}

// TestRunOfALineThatIsOut: its state stays the scheduler's word, and the one who records is told so; the die follows.
func TestRunOfALineThatIsOut(t *testing.T) {
	for state, word := range map[lines.State]string{lines.Down: "it is down there", lines.Uncommissioned: "it is not set up there"} {
		in := floor()
		in.Lines[0].State = state
		l := NewLedger(in)
		_, _, warnings, err := l.Post(Run{Code: "1", Line: "L1", Profile: "Q", Day: day0, Good: 10, Run: 1}, false)
		if err != nil || len(warnings) != 2 || !strings.Contains(fmt.Sprint(warnings), word) { // the other: more pellets than the book has
			t.Errorf("warnings %v, %v, want one that says %q", warnings, err, word)
		}
		if ln := l.Input().Lines[0]; ln.State != state || ln.Mounted != "Q" {
			t.Errorf("the line is %+v", ln)
		}
	}
}

// TestReversedRunPutsTheDieBack: a run of the wrong line leaves it as the run before did; history says nothing of now.
func TestReversedRunPutsTheDieBack(t *testing.T) {
	l := NewLedger(floor())
	var last Entry
	for i, p := range []string{"P", "Q"} {
		r, moves, _, err := l.Post(Run{Code: p, Line: "L1", Profile: p, Day: day0 + calendar.Day(i), Good: 100, Run: 1}, false)
		if err != nil {
			t.Fatal(err)
		}
		last = Entry{ID: int64(i + 1), Head: r.Head(), Record: r, Moves: moves}
	}
	if _, _, err := l.Reverse(last); err != nil {
		t.Fatal(err)
	}
	if got, want := onLines(l.Input()), "L1:P:runs L2:Q:runs L3::stands "; got != want {
		t.Errorf("after the reversal lines stand as %s, want %s", got, want)
	}
	if _, _, _, err := l.Post(Run{Code: "H", Line: "L1", Profile: "Q", Day: day0 + 3, Good: 100, Run: 1}, true); err != nil {
		t.Fatal(err)
	}
	if got, want := onLines(l.Input()), "L1:P:runs L2:Q:runs L3::stands "; got != want {
		t.Errorf("after history lines stand as %s, want %s", got, want)
	}
}

// TestLineThatStood: a line that was recorded and has no run on two days with hours on which others ran stands, and runs again once it
// is recorded; a line that never was recorded, or had no hours, stays as it is.
func TestLineThatStood(t *testing.T) {
	in := floor()
	every := [7]bool{true, true, true, true, true, true, true}
	for i := range in.Calendar.Shifts {
		in.Calendar.Shifts[i].Weekdays, in.Calendar.Shifts[i].End = every, in.Calendar.Shifts[i].Start+8*time.Hour
	}
	in.Lines[2].State = lines.Running // without a record
	in.Calendar.Outages = []calendar.Outage{{Code: "X", Machine: "L2", From: in.Calendar.At(day0+1, 0), To: in.Calendar.At(day0+2, 0)}}
	l := NewLedger(in)
	l.Today = day0 + 30
	post := func(line, profile string, day int) int {
		t.Helper()
		r := Run{Code: fmt.Sprint(line, day), Line: line, Profile: profile, Day: day0 + calendar.Day(day), Good: 10, Run: 1}
		if _, _, _, err := l.Post(r, false); err != nil {
			t.Fatal(err)
		}
		return len(l.Stood())
	}
	post("L2", "Q", 0)
	for day, want := range []string{"runs", "runs", "runs", "stands"} { // day 1 has no hours, 2 is the first, 3 the second
		n := post("L1", "P", day)
		if got, all := onLines(l.Input()), "L1:P:runs L2:Q:"+want+" L3::runs "; got != all || (n > 0) != (want == "stands") {
			t.Errorf("day %d: lines stand as %s with %d warnings, want %s", day, got, n, all)
		}
	}
	post("L2", "Q", 3)
	l.Today = day0 + 5
	post("L1", "P", 4)
	if post("L1", "P", 5) > 0 {
		t.Errorf("the day that is not over counts: %s", onLines(l.Input()))
	}
	if got, want := onLines(l.Input()), "L1:P:runs L2:Q:runs L3::runs "; got != want {
		t.Errorf("after its run was entered lines stand as %s, want %s", got, want)
	}
}
