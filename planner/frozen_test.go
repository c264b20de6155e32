package planner_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/audit"
)

const frozenDays = 3

// world is what has become of the workshop by the day on which a later plan is made.
type world struct {
	name   string
	change func(in *planner.Input, released *planner.Plan, day int)
	oracle bool // what can be kept is told by trying everything
}

// asReleased sets the lines to what the released plan has left them as on the day before.
func asReleased(in *planner.Input, released *planner.Plan, day int) {
	for i := range in.Lines {
		for _, u := range released.Lines {
			if u.Line == in.Lines[i].Code && u.Bucket == day-1 {
				in.Lines[i].State, in.Lines[i].Mounted = lines.Ready, u.Mounted
				if u.On {
					in.Lines[i].State = lines.Running
				}
			}
		}
	}
}

var worlds = []world{
	{"as released", asReleased, true},
	{"as at the start, nothing recorded", func(*planner.Input, *planner.Plan, int) {}, true},
	{"one slat die is broken", func(in *planner.Input, r *planner.Plan, day int) {
		asReleased(in, r, day)
		in.Profiles[2].Dies = 1
		in.Lines[1].Mounted = ""
	}, true},
	{"line A is down", func(in *planner.Input, r *planner.Plan, day int) { asReleased(in, r, day); down(in, "A") }, true},
	{"line A can't run SL40 any longer", func(in *planner.Input, r *planner.Plan, day int) {
		asReleased(in, r, day)
		in.Fits = slices.Delete(in.Fits, 2, 3)
		if in.Lines[0].Mounted == "SL40" {
			in.Lines[0].Mounted = ""
		}
	}, true},
	{"no grey feed", func(in *planner.Input, r *planner.Plan, day int) {
		asReleased(in, r, day)
		in.Ingredients = in.Ingredients[:2]
		in.Ingredients = append(in.Ingredients, inventory.Ingredient{Grade: "GRY", Material: "OLD", MaxShare: 1})
		in.Materials = append(in.Materials, inventory.Material{Code: "OLD", Name: "old ingots", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: "GPPS", Colour: "grey", Price: 0.6, BulkDensity: 700})
		in.Stock = slices.DeleteFunc(in.Stock, func(s inventory.Stock) bool { return s.Code == "GRY" })
	}, false},
	{"line A is pinned", func(in *planner.Input, r *planner.Plan, day int) {
		asReleased(in, r, day)
		in.Pins = []planner.Pin{{Code: "P", Kind: planner.PinRun, Line: "A", Profile: "SL40", From: monday, To: monday + 30}}
	}, false},
}

// TestFrozenDaysHold makes later plans, one to ten days on, of a released one, in worlds that went as released and in such that did not. A frozen day
// that is not kept must have its reason, none is broken that could be kept, and every plan passes the audit. What can be kept is told by trying
// everything that two lines can do in three days.
func TestFrozenDaysHold(t *testing.T) {
	in := workshop()
	opt := quick()
	opt.DailyDays = 14
	released := audited(t, in, opt)
	whys := map[string]bool{}
	for _, w := range worlds {
		for _, day := range []int{1, 2, 4, 9} {
			t.Run(fmt.Sprintf("%s/%d", w.name, day), func(t *testing.T) {
				in := workshop()
				in.Plant.FrozenDays, in.Plant.ChangeCost = frozenDays, 100
				w.change(in, released, day)
				opt := planner.Options{Now: opt.Now, Start: monday + calendar.Day(day), Weeks: 3, DailyDays: 14, Work: 2_000_000, Brief: true}
				p := replanned(t, in, opt, released)
				lost := 0
				for _, c := range p.Changes {
					if !c.Frozen {
						continue
					}
					if c.Why == "" {
						t.Errorf("line %s, day %d: was %s, is %s, without a reason", c.Line, c.Bucket, c.Was, c.Is)
					}
					whys[strings.SplitN(c.Why, ":", 2)[0]] = true
					if !c.Pinned && !c.Forced {
						lost += c.Days
					}
				}
				if w.name == "as released" && lost > 0 {
					t.Errorf("everything went as released and %d frozen days are broken: %+v", lost, p.Changes)
				}
				if w.oracle {
					if want := leastBroken(in, released, day); lost != want {
						t.Errorf("%d frozen days are broken, %d must be: %+v", lost, want, p.Changes)
					}
				}
			})
		}
	}
	for _, why := range []string{"the line has no hours then", "the line can't make SL40 any longer", "no feed", "pin P"} {
		if !whys[why] {
			t.Errorf("no plan met the reason %q, but: %v", why, whys)
		}
	}
}

// TestFrozenDaysOfAnyPlan does so with releases and worlds that are drawn, most of which don't fit together.
func TestFrozenDaysOfAnyPlan(t *testing.T) {
	opt := planner.Options{Now: monday.UTC(), Start: monday, Weeks: 3, DailyDays: 14, Work: 2_000_000, Brief: true}
	empty := audited(t, workshop(), opt)
	whys, kept := map[string]int{}, 0
	for seed := range uint64(80) {
		rng := rand.New(rand.NewPCG(seed, 1))
		in, day := workshop(), rng.IntN(11)
		released := drawRelease(in, empty, rng)
		drawWorld(in, rng)
		opt := opt
		opt.Start += calendar.Day(day)
		p := replanned(t, in, opt, released)
		lost := 0
		for _, c := range p.Changes {
			if !c.Frozen {
				continue
			}
			if c.Why == "" {
				t.Errorf("seed %d: line %s, day %d: was %s, is %s, without a reason", seed, c.Line, c.Bucket, c.Was, c.Is)
			}
			whys[strings.SplitN(c.Why, ":", 2)[0]]++
			if !c.Forced {
				lost += c.Days
			}
		}
		want := leastBroken(in, released, day)
		if lost != want {
			t.Errorf("seed %d: %d frozen days are broken, %d must be: %+v", seed, lost, want, p.Changes)
		}
		kept += 2*frozenDays - lost
	}
	if t.Logf("%d frozen days kept, not kept: %v", kept, whys); len(whys) < 6 {
		t.Errorf("only the reasons %v were met", whys)
	}
}

// drawRelease makes of a plan one that promises anything.
func drawRelease(in *planner.Input, p *planner.Plan, rng *rand.Rand) *planner.Plan {
	q := *p
	q.Lines, q.Runs = slices.Clone(p.Lines), nil
	for i := range q.Lines {
		u := &q.Lines[i]
		if i == 0 || q.Lines[i-1].Line != u.Line || rng.IntN(3) == 0 {
			u.On, u.Mounted = rng.IntN(2) == 0, in.Fits[rng.IntN(3)].Profile
			if u.Line == "B" {
				u.Mounted = []string{"", "SK90", "SL40"}[rng.IntN(3)]
			}
		} else {
			u.On, u.Mounted = q.Lines[i-1].On, q.Lines[i-1].Mounted
		}
		if u.On && u.Mounted != "" {
			q.Runs = append(q.Runs, planner.Run{Line: u.Line, Profile: u.Mounted, Bucket: u.Bucket, Hours: 10, Length: 2000})
		}
	}
	return &q
}

// drawWorld changes lines, dies, people and least stays.
func drawWorld(in *planner.Input, rng *rand.Rand) {
	for i := range in.Lines {
		ln := &in.Lines[i]
		ln.State = []lines.State{lines.Running, lines.Running, lines.Ready, lines.Ready, lines.Down}[rng.IntN(5)]
		ln.Mounted = []string{"", "SK90", "SL40"}[rng.IntN(3)]
		ln.MinRunDays, ln.MinStopDays = rng.IntN(5), rng.IntN(5)
		if ln.State == lines.Down {
			ln.DownUntil, ln.Mounted = monday+100, ""
		}
	}
	for i := range in.Profiles {
		in.Profiles[i].Dies = 1 + rng.IntN(2)
		if in.Lines[0].Mounted == in.Lines[1].Mounted && in.Lines[0].Mounted == in.Profiles[i].Code {
			in.Profiles[i].Dies = 2
		}
	}
	in.Plant.Crew = []float64{2, 4}[rng.IntN(2)]
	in.Plant.FitterHours = []quantity.Hours{8, 16}[rng.IntN(2)]
	in.Plant.FrozenDays, in.Plant.ChangeCost = frozenDays, quantity.Money(100*rng.IntN(2))
	if gone := rng.IntN(8); gone < len(in.Fits) && in.Fits[gone].Profile != in.Lines[0].Mounted && in.Fits[gone].Profile != in.Lines[1].Mounted {
		in.Fits = slices.Delete(in.Fits, gone, gone+1)
	}
}

// move is what a line does in a day.
type move struct {
	on, started, changed bool
	die                  string // at the end
}

// courses lists all that line l can do in the frozen days.
func courses(in *planner.Input, ln lines.Line) [][]move {
	if ln.State == lines.Down {
		return [][]move{make([]move, frozenDays)}
	}
	dies := []string{""}
	for _, f := range in.Fits {
		if f.Line == ln.Code {
			dies = append(dies, f.Profile)
		}
	}
	was := ln.State == lines.Running
	var list [][]move
	var add func(done []move)
	add = func(done []move) {
		n := len(done)
		if n == frozenDays {
			list = append(list, slices.Clone(done))
			return
		}
		before, die := was, ln.Mounted
		if n > 0 {
			before, die = done[n-1].on, done[n-1].die
		}
		for _, on := range []bool{false, true} {
			for _, end := range dies {
				m := move{on: on, started: on && !before, changed: end != "" && end != die, die: end}
				hours := 0.0
				if m.changed {
					hours += 5 // the most that a changeover takes here
				}
				if m.started {
					hours += float64(ln.Startup.Hours)
				}
				if m.changed && !on || hours > 24 || m.started && die == "" && end == "" || !stays(ln, was, append(slices.Clone(done), m)) {
					continue
				}
				add(append(done, m))
			}
		}
	}
	add(nil)
	return list
}

// stays reports whether the last day of done is within the line's least run and stop.
func stays(ln lines.Line, was bool, done []move) bool {
	n := len(done) - 1
	if done[n].started {
		for o := max(-1, n-ln.MinStopDays); o < n; o++ {
			if o >= 0 && done[o].on || o < 0 && was {
				return false
			}
		}
	}
	if !done[n].on {
		for o := max(0, n-ln.MinRunDays+1); o < n; o++ {
			if done[o].started {
				return false
			}
		}
	}
	return true
}

// leastBroken is the least number of frozen days that any course of the two lines breaks.
func leastBroken(in *planner.Input, released *planner.Plan, day int) int {
	a, b := courses(in, in.Lines[0]), courses(in, in.Lines[1])
	least := 2 * frozenDays
	for _, x := range a {
		broken := brokenDays(in, released, in.Lines[0], day, x)
		if broken >= least {
			continue
		}
		for _, y := range b {
			if n := broken + brokenDays(in, released, in.Lines[1], day, y); n < least && together(in, x, y) {
				least = n
			}
		}
	}
	return least
}

func brokenDays(in *planner.Input, released *planner.Plan, ln lines.Line, day int, course []move) (n int) {
	if ln.State == lines.Down {
		return 0 // forced
	}
	for d, m := range course {
		for _, u := range released.Lines {
			if u.Line != ln.Code || u.Bucket != day+d {
				continue
			}
			can := slices.ContainsFunc(in.Fits, func(f lines.Fit) bool { return f.Line == ln.Code && f.Profile == u.Mounted })
			if m.on != u.On || u.On && can && m.die != u.Mounted {
				n++
			}
		}
	}
	return n
}

// together reports whether crew, fitters and dies suffice for both courses.
func together(in *planner.Input, x, y []move) bool {
	for d := range x {
		crew, fitters, held := 0.0, 0.0, map[string]int{}
		for l, c := range [][]move{x, y} {
			before := in.Lines[l].Mounted
			if d > 0 {
				before = c[d-1].die
			}
			held[before]++
			if c[d].changed {
				fitters += 8
				held[c[d].die]++
			}
			if c[d].on {
				crew += in.Lines[l].Crew
			}
		}
		if crew > in.Plant.Crew || fitters > float64(in.Plant.FitterHours) {
			return false
		}
		for _, p := range in.Profiles {
			atStart := 0
			for _, ln := range in.Lines {
				if ln.Mounted == p.Code {
					atStart++
				}
			}
			if held[p.Code] > max(p.Dies, atStart) {
				return false
			}
		}
	}
	return true
}

// TestAuditOfFrozenDays takes a reason from a plan that could not keep a frozen day, and the change itself.
func TestAuditOfFrozenDays(t *testing.T) {
	in := workshop()
	opt := quick()
	released := audited(t, in, opt)
	in.Plant.FrozenDays, in.Plant.ChangeCost = frozenDays, 100
	in.Plant.FitterHours = 4 // too few for the change to slats that is released
	p := replanned(t, in, opt, released)
	i := slices.IndexFunc(p.Changes, func(c planner.Change) bool { return c.Frozen && !c.Forced })
	if i < 0 {
		t.Fatalf("every frozen day is kept, the test shows nothing: %+v", p.Changes)
	}
	rep := audit.Against(in, p, released)
	if !slices.ContainsFunc(rep.Findings, func(f audit.Finding) bool {
		return f.Rule == audit.Changes && strings.Contains(f.Note, p.Changes[i].Why)
	}) {
		t.Errorf("the audit does not tell the reason %q:\n%s", p.Changes[i].Why, rep)
	}
	silent := *p
	silent.Changes = slices.Clone(p.Changes)
	silent.Changes[i].Why = ""
	if audit.Against(in, &silent, released).OK() {
		t.Error("a frozen day that is broken without a reason passes the audit")
	}
	silent.Changes = slices.Delete(slices.Clone(p.Changes), i, i+1)
	if audit.Against(in, &silent, released).OK() {
		t.Error("a broken frozen day that the plan does not list passes the audit")
	}
}
