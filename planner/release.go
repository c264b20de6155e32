package planner

import (
	"slices"
	"strings"

	"feedline/lines/calendar"
)

// A released plan is a promise. What it promises of a line is the pattern of a bucket: whether the line is on, and which profiles it
// runs. Only the pattern is held, not hours and metres. Where the released plan told a day, a change is that the line is not on, or
// is on, against the promise, or that another die is on it at the end of the day. Where it told a week, a change is each profile
// that comes on the line and was not promised, each promised one that is not on it in the week, or the line being on when it was to
// stand; a day within a promised week is changed if the line runs on it with a die that the week does not know.
// A bucket in which the line has no hours is changed by force and costs nothing, and so is the die of a day that the line can't make any
// longer; a week does without such a profile.

// Change is a bucket of a line that the plan does otherwise than the released one.
type Change struct {
	Line    string
	Bucket  int
	Was, Is string // what runs, such as "SK80" or "SK80 → CO50"; "off"
	Days    int    // changed run days; more than one only in a week with several profiles
	Frozen  bool   // it lies in the days that the promise holds
	Pinned  bool   // a pin of the scheduler's overrides the promise
	Forced  bool   // the line can't keep the promise: it costs nothing
	Why     string // why a frozen day is not kept, or what forces the change; "" otherwise, and in plans made before that was said
}

// promised is what the released plan says of a line in a bucket.
type promised struct {
	whole   bool // the released bucket is just this one; else it is a longer one
	week    bool // this one is longer than a day
	on      bool
	runs    []Run  // in order
	mounted string // at the end
	before  string // at the beginning
}

// promisedBy reads a released plan into the buckets of another: by line code, then bucket; nil where it promises nothing.
func promisedBy(released *Plan, codes []string, buckets []calendar.Bucket) map[string][]*promised {
	list := map[string][]*promised{}
	for _, code := range codes {
		list[code] = make([]*promised, len(buckets))
	}
	uses, runs := map[string][]LineUse{}, map[string][]Run{}
	for _, u := range released.Lines {
		uses[u.Line] = append(uses[u.Line], u)
	}
	for _, r := range released.Runs {
		runs[r.Line] = append(runs[r.Line], r)
	}
	for _, code := range codes {
		for t, b := range buckets {
			o := slices.IndexFunc(released.Buckets, func(x calendar.Bucket) bool { return x.Span.From <= b.Span.From && b.Span.To <= x.Span.To })
			if o < 0 {
				continue
			}
			p := &promised{whole: released.Buckets[o].Span == b.Span, week: b.Weekly()}
			known := false
			for _, u := range uses[code] {
				switch u.Bucket {
				case o:
					p.on, p.mounted, known = u.On, u.Mounted, true
				case o - 1:
					p.before = u.Mounted
				}
			}
			for _, r := range runs[code] {
				if r.Bucket == o {
					p.runs = append(p.runs, r)
				}
			}
			if known {
				list[code][t] = p
			}
		}
	}
	return list
}

// has reports whether a week knows a profile's die.
func (p *promised) has(profile string) bool {
	return profile == p.mounted || profile == p.before || p.promises(profile)
}

// promises reports whether a profile is run, or comes on.
func (p *promised) promises(profile string) bool {
	return slices.ContainsFunc(p.runs, func(r Run) bool { return r.Profile == profile })
}

// patternWord is a pattern in words.
func patternWord(on bool, runs []Run) string {
	if !on {
		return "off"
	}
	var list []string
	for _, r := range runs {
		if n := len(list); n == 0 || list[n-1] != r.Profile {
			list = append(list, r.Profile)
		}
	}
	if len(list) == 0 {
		return "on without work"
	}
	return strings.Join(list, " → ")
}

// extractChanges lists what p does otherwise than the released plan.
func (f *formulation) extractChanges(p *Plan) {
	if f.promise == nil {
		return
	}
	if f.frozen > f.start {
		p.Frozen = f.frozen
	}
	runs := map[string]map[int][]Run{}
	for _, r := range p.Runs {
		if runs[r.Line] == nil {
			runs[r.Line] = map[int][]Run{}
		}
		runs[r.Line][r.Bucket] = append(runs[r.Line][r.Bucket], r)
	}
	mounted := map[string]string{}
	for _, ln := range f.in.Lines {
		mounted[ln.Code] = ln.Mounted
	}
	for _, u := range p.Lines {
		before := mounted[u.Line]
		mounted[u.Line] = u.Mounted
		c := f.promise[u.Line][u.Bucket]
		if c == nil {
			continue
		}
		l := f.lineAt[u.Line]
		own := runs[u.Line][u.Bucket]
		if n := c.changes(u, own, before, f.canMake(l)); n > 0 {
			x := Change{Line: u.Line, Bucket: u.Bucket, Was: patternWord(c.on, c.runs), Is: patternWord(u.On, own), Days: n,
				Frozen: f.isFrozen(u.Bucket), Pinned: f.pinOver(l, u.Bucket, c) != "", Forced: f.avail[l][u.Bucket] <= 0 || u.On && c.lost(f.canMake(l))}
			if x.Frozen || x.Forced {
				x.Why = f.why(l, u.Bucket, c)
			}
			p.Changes = append(p.Changes, x)
		}
	}
}

// changes counts the run days that u with its runs is changed by; before is the die on the line at the beginning, and can says
// which profiles the line can make.
func (p *promised) changes(u LineUse, runs []Run, before string, can func(profile string) bool) int {
	switch {
	case !p.on:
		return int(isOne(u.On))
	case !p.whole:
		return int(isOne(u.On && u.Mounted != "" && !p.has(u.Mounted)))
	case !p.week:
		return int(isOne(!u.On || p.mounted != "" && u.Mounted != p.mounted))
	case len(p.profiles()) == 0:
		return int(isOne(!u.On))
	}
	came := func(profile string) bool {
		return slices.ContainsFunc(runs, func(r Run) bool { return r.Profile == profile && r.Changeover })
	}
	n := 0
	for _, q := range p.profiles() {
		if can(q) && (!u.On || before != q && !came(q)) {
			n++
		}
	}
	for _, r := range runs {
		if r.Changeover && !p.promises(r.Profile) {
			n++
		}
	}
	return n
}

// lost reports whether p is a day that was to end with a die that the line can't make any longer.
func (p *promised) lost(can func(profile string) bool) bool {
	return p.on && p.whole && !p.week && p.mounted != "" && !can(p.mounted)
}

// profiles lists the profiles that are run or come on, each once.
func (p *promised) profiles() []string {
	var list []string
	for _, r := range p.runs {
		if !slices.Contains(list, r.Profile) {
			list = append(list, r.Profile)
		}
	}
	return list
}
