// Package linesheet writes what the floor needs of a plan: for a line and a day or a week what to run, how much of it, of which pellets,
// which die goes on and how long that takes, with room to write down what was made, and the usual caution.
package linesheet

import (
	"fmt"
	"slices"

	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Options say which sheets. The zero value is a sheet for each line with work and each day of the plan's first seven.
type Options struct {
	Units  quantity.System
	Lines  []string     // codes; none = those with work
	From   calendar.Day // 0 = the plan's first day
	Days   int          // 0 = 7
	Weekly bool         // a sheet a week instead of a day
	Moved  bool         // the book has changed since the plan was made
}

const usualDays = 7

// Sheet is one line's work over a day or a week.
type Sheet struct {
	Plant     string
	Line      string
	Name      string
	Span      calendar.Span
	Jobs      []Job
	Pellets   []Need
	Left      quantity.Hours // crewed hours without work
	Available quantity.Hours
	Note      string // of the line, and of the book where it has changed
	Cautions  []string
	Plan      string // the plan's heading and when it was made
}

// Need is pellets of a grade.
type Need struct {
	Grade string
	Mass  quantity.Mass
}

// Kind is what a job is.
type Kind string

// The kinds.
const (
	Start  Kind = "start"
	Change Kind = "changeover"
	Run    Kind = "run"
)

// Job is one thing to do. Fields that a kind has no use for are zero.
type Job struct {
	Kind     Kind
	Day      calendar.Day // 0 if the plan leaves it open within the week
	Hours    quantity.Hours
	Booked   quantity.Hours // that the plan counts for a changeover, where that is more than it takes; else 0
	Profile  string         // to run, or whose die goes on
	Name     string
	Grade    string
	Length   quantity.Length // good
	Rate     float64         // good metres a crewed hour
	Strands  int
	Pellets  quantity.Mass // scrap and a changeover's pellets included
	Scrap    quantity.Mass
	From, To string // die families, of a changeover; From is "" if nothing is on
	Off      string // profile whose die comes off
}

// Sheets are the sheets asked for, day by day, or week by week, and within by line. A bucket of a week is never split: it is a sheet of
// its own.
func Sheets(in *planner.Input, p *planner.Plan, opt Options) []Sheet {
	m := &maker{in: in, p: p, opt: opt, profiles: map[string]lines.Profile{}, fits: map[[2]string]lines.Fit{}}
	for _, x := range in.Profiles {
		m.profiles[x.Code] = x
	}
	for _, x := range in.Fits {
		m.fits[[2]string{x.Line, x.Profile}] = x
	}
	var list []Sheet
	for _, s := range m.stretches() {
		for _, ln := range in.Lines {
			sheet := m.sheet(ln, s.from, s.to)
			named := slices.Contains(opt.Lines, ln.Code)
			if named || len(opt.Lines) == 0 && len(sheet.Jobs) > 0 {
				list = append(list, sheet)
			}
		}
	}
	return list
}

// maker makes the sheets of a plan.
type maker struct {
	in       *planner.Input
	p        *planner.Plan
	opt      Options
	profiles map[string]lines.Profile
	fits     map[[2]string]lines.Fit // by line and profile
}

// stretch is the buckets [from, to) of a sheet.
type stretch struct{ from, to int }

func (m *maker) stretches() []stretch {
	from, days := m.opt.From, m.opt.Days
	if days <= 0 {
		days = usualDays
	}
	if from == 0 {
		from = m.p.Start
	}
	asked := calendar.Span{From: from, To: from + calendar.Day(days)}
	var list []stretch
	for i, b := range m.p.Buckets {
		if b.Span.Overlap(asked).Days() == 0 {
			continue
		}
		n := len(list)
		if m.opt.Weekly && n > 0 && m.p.Buckets[i-1].Span.From.Monday() == b.Span.From.Monday() {
			list[n-1].to = i + 1
			continue
		}
		list = append(list, stretch{i, i + 1})
	}
	return list
}

// sheet is what a line does in the buckets [from, to).
func (m *maker) sheet(ln lines.Line, from, to int) Sheet {
	s := Sheet{Plant: m.p.Plant, Line: ln.Code, Name: ln.Name, Note: ln.Note, Span: calendar.Span{From: m.p.Buckets[from].Span.From, To: m.p.Buckets[to-1].Span.To},
		Plan: fmt.Sprintf("%s; made %s", m.p.Heading(), m.p.Made.Format("2 Jan 2006 15:04 MST"))}
	if m.opt.Moved {
		s.Note = joined(s.Note, "the book has changed since the plan was made")
	}
	die := m.mountedBefore(ln, from)
	started, changed := false, false
	for t := from; t < to; t++ {
		u := m.use(ln.Code, t)
		s.Available += u.Available
		s.Left += max(0, u.Available-u.Run-u.Setup-u.Startup)
		if u.Started {
			started = true
			s.Jobs = append(s.Jobs, Job{Kind: Start, Day: m.day(t), Hours: u.Startup})
		}
		for _, r := range m.p.Runs {
			if r.Line != ln.Code || r.Bucket != t {
				continue
			}
			if r.Changeover {
				changed = true
				s.Jobs = append(s.Jobs, m.change(r, die))
				die = r.Profile
			}
			if view.Worth(r.Length) {
				s.Jobs = append(s.Jobs, m.run(r))
				die = r.Profile
			}
			s.need(m.profiles[r.Profile].Grade, r.Pellets)
		}
		if u.Mounted != "" {
			die = u.Mounted
		}
	}
	s.Cautions = cautions(ln, started, changed)
	return s
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

func (s *Sheet) need(grade string, mass quantity.Mass) {
	for i := range s.Pellets {
		if s.Pellets[i].Grade == grade {
			s.Pellets[i].Mass += mass
			return
		}
	}
	if mass > 0 {
		s.Pellets = append(s.Pellets, Need{grade, mass})
	}
}

// day is the day of a daily bucket, 0 of a weekly one.
func (m *maker) day(bucket int) calendar.Day {
	if b := m.p.Buckets[bucket]; !b.Weekly() {
		return b.Span.From
	}
	return 0
}

// dated reports whether the sheet has several days and its jobs are of one each.
func (s Sheet) dated() bool {
	return s.Span.Days() > 1 && slices.ContainsFunc(s.Jobs, func(j Job) bool { return j.Day != 0 })
}

func (m *maker) use(line string, t int) planner.LineUse {
	for _, u := range m.p.Lines {
		if u.Line == line && u.Bucket == t {
			return u
		}
	}
	return planner.LineUse{}
}

// mountedBefore is the profile whose die is on a line when a bucket begins.
func (m *maker) mountedBefore(ln lines.Line, bucket int) string {
	if bucket == 0 {
		return ln.Mounted
	}
	return m.use(ln.Code, bucket-1).Mounted
}

func (m *maker) change(r planner.Run, off string) Job {
	takes, booked := r.SetupHours()
	return Job{Kind: Change, Day: m.day(r.Bucket), Hours: takes, Booked: booked, Profile: r.Profile, Name: m.profiles[r.Profile].Name, Grade: m.profiles[r.Profile].Grade,
		Off: off, From: m.profiles[off].DieFamily, To: m.profiles[r.Profile].DieFamily}
}

func (m *maker) run(r planner.Run) Job {
	pr, fit := m.profiles[r.Profile], m.fits[[2]string{r.Line, r.Profile}]
	j := Job{Kind: Run, Day: m.day(r.Bucket), Hours: r.Hours, Profile: r.Profile, Name: pr.Name, Grade: pr.Grade, Length: r.Length, Strands: fit.Strands, Pellets: r.Pellets, Scrap: r.Scrap}
	if r.Hours > 0 {
		j.Rate = float64(r.Length) / float64(r.Hours)
	}
	return j
}

// cautions are the usual ones for the work of a sheet. They defer to the plant's own procedures.
func cautions(ln lines.Line, started, changed bool) []string {
	list := []string{"Guards in place and emergency stops tried before the screw turns; nobody before the die. The plant's own procedures come first."}
	if started {
		soak := "heat soak as the line's procedure says"
		if ln.ScrewMM > 0 {
			soak = fmt.Sprintf("heat soak of at least %s h at set-point (screw %s mm)", quantity.Grouped(float64(lines.HeatSoak(ln.ScrewMM)), 1), quantity.Grouped(ln.ScrewMM, 0))
		}
		list = append(list, "Start: a competent person first. Lockout released by who set it, guarding checked, "+soak+", then turn the screw slowly.")
	}
	if changed {
		list = append(list, "Changeover: a competent person only. Line stopped and locked out, pressure let off; the die is hot: gloves and face shield.")
	}
	return list
}
