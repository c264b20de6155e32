package records

import (
	"fmt"
	"slices"
	"time"

	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// What runs say of the lines. The die of a line's latest run is on it; where there are no more dies of it, it came off the line that ran it
// longest ago. A ready line that ran is running, and a running one that stood for planned reasons alone is ready, its die on it. So is one that
// was recorded before and has no run on two days on which it had hours and others ran: left running, it would be planned to stop anew
// every day, and to stand its least days from there. A line that is down or not set up stays so: its state is the scheduler's word. Runs of
// before the latest one say nothing of now.

// ran is a standing run as far as it tells which came later.
type ran struct {
	code    string
	profile string
	day     calendar.Day
	start   time.Duration // of its shift, −1 if that is not known
	worked  bool          // it made product or was set up; else the line stood
}

// before reports whether a was over before b began. Runs of one day whose shifts are not known are in the order of entry.
func (a ran) before(b ran) bool {
	return a.day < b.day || a.day == b.day && a.start >= 0 && b.start >= 0 && a.start < b.start
}

// Ran tells the ledger of an earlier run that stands, in the order they were entered. One of a day that is still to come has not happened.
func (l *Ledger) Ran(r Run) {
	if l.Today != 0 && r.Day > l.Today {
		return
	}
	x := ran{r.Code, r.Profile, r.Day, -1, r.Run > 0 || r.SetUp > 0}
	for _, s := range l.in.Calendar.Shifts {
		if s.Code == r.Shift {
			x.start = s.Start
		}
	}
	list := l.ran[r.Line]
	at := len(list)
	for at > 0 && x.before(list[at-1]) {
		at--
	}
	l.ran[r.Line] = slices.Insert(list, at, x)
}

// latest is the latest run of a line, nothing if none is known.
func (l *Ledger) latest(line string) ran {
	if list := l.ran[line]; len(list) > 0 {
		return list[len(list)-1]
	}
	return ran{}
}

// follow sets the line to what the run says of it, if that is its latest.
func (l *Ledger) follow(r Run) {
	l.Ran(r)
	i, ok := l.lineAt[r.Line]
	if !ok || l.latest(r.Line).code != r.Code {
		return
	}
	worked, ln := l.latest(r.Line).worked, &l.in.Lines[i]
	if worked {
		l.mount(i, r.Profile)
	}
	switch {
	case worked && ln.State == lines.Ready:
		ln.State = lines.Running
		l.warn("Line", fmt.Sprintf("%q", r.Line), "as a rule a line that is running in the sheet lines", "it ran, so that it was set to running; if it stands by now, set its state to ready")
	case worked && ln.State == lines.Down, worked && ln.State == lines.Uncommissioned:
		word := map[lines.State]string{lines.Down: "down", lines.Uncommissioned: "not set up"}[ln.State]
		l.warn("Line", fmt.Sprintf("%q", r.Line), "as a rule a line that is running in the sheet lines", "it is "+word+" there, and plans leave it out; if it is back, set its state to running")
	case !worked && ln.State == lines.Running && l.planned(r):
		ln.State = lines.Ready
	}
}

// mount puts a profile's die on line i, off another line if there are no more of it.
func (l *Ledger) mount(i int, profile string) {
	l.in.Lines[i].Mounted = profile
	on, from := 0, -1
	for j, ln := range l.in.Lines {
		if ln.Mounted != profile {
			continue
		}
		on++
		if j != i && (from < 0 || l.latest(ln.Code).before(l.latest(l.in.Lines[from].Code))) {
			from = j
		}
	}
	if from >= 0 && on > max(1, l.profiles[profile].Dies) {
		l.in.Lines[from].Mounted = ""
	}
}

// stoodDays is on how many recorded days that are over a line must be without a run to be taken to stand: the last may not be entered whole.
const stoodDays = 2

// Stood sets running lines to ready that have no run where others have: to be called when a batch of runs is booked. It says so by warnings.
func (l *Ledger) Stood() (warnings []planner.Problem) {
	var days []calendar.Day
	for _, list := range l.ran {
		for _, x := range list {
			if over := l.Today == 0 || x.day < l.Today; over && x.worked && !slices.Contains(days, x.day) {
				days = append(days, x.day)
			}
		}
	}
	slices.Sort(days)
	for i, ln := range l.in.Lines {
		if ln.State != lines.Running || len(l.ran[ln.Code]) == 0 {
			continue
		}
		var stood []calendar.Day
		for _, d := range days {
			if d > l.latest(ln.Code).day && l.in.Calendar.MachineHours(ln.Code, d) > 0 {
				stood = append(stood, d)
			}
		}
		if n := len(stood); n >= stoodDays {
			l.in.Lines[i].State = lines.Ready
			warnings = append(warnings, planner.Problem{Table: planner.TableLines, Key: ln.Code, Field: "state", Value: "running", Warning: true,
				Allowed: "ready, for a line without a run where others have: " + stood[n-2].String() + " and " + stood[n-1].String(),
				Remedy:  "it was set to ready; if it ran, record its runs"})
		}
	}
	return warnings
}

// planned reports whether a line stood for planned reasons alone.
func (l *Ledger) planned(r Run) bool {
	for _, s := range r.Stops {
		if l.reasons[s.Reason] != lines.PlannedStop {
			return false
		}
	}
	return len(r.Stops) > 0
}

// undoRun puts the die of the run before on the line again, if the run that is reversed is its latest and its die is on it still.
func (l *Ledger) undoRun(r Run) {
	i, ok := l.lineAt[r.Line]
	if !ok || l.latest(r.Line).code != r.Code || l.in.Lines[i].Mounted != r.Profile {
		return
	}
	list := l.ran[r.Line]
	for _, before := range slices.Backward(list[:len(list)-1]) {
		if before.worked {
			l.mount(i, before.profile)
			return
		}
	}
}
