package planner

import (
	"fmt"
	"slices"
	"strings"

	"feedline/lines"
)

// floor checks lines, profiles, dies and rates against one another.
func (c *checker) floor() {
	machines, profiles := map[string]lines.Line{}, map[string]lines.Profile{}
	for _, l := range c.in.Lines {
		machines[l.Code] = l
	}
	for _, p := range c.in.Profiles {
		profiles[p.Code] = p
	}
	onLine, ofProfile := map[string][]string{}, map[string]bool{}
	for _, f := range c.in.Fits {
		p, okP := profiles[f.Profile]
		l, okL := machines[f.Line]
		if !okP || !okL {
			continue
		}
		for _, x := range lines.CheckFit(p, l, f) {
			c.add(Problem{TableRates, fitKey(f), FieldName(TableRates, x.Field), x.Value, x.Allowed, x.Remedy, x.Warning})
		}
		onLine[f.Line] = append(onLine[f.Line], f.Profile)
		ofProfile[f.Profile] = true
	}
	c.lineStates(onLine, profiles)
	c.unmade(ofProfile)
	c.families(onLine, profiles)
}

// lineStates checks what each line is said to do now.
func (c *checker) lineStates(onLine map[string][]string, profiles map[string]lines.Profile) {
	dies := map[string]int{}
	for _, l := range c.in.Lines {
		made := onLine[l.Code]
		if len(made) == 0 {
			c.add(Problem{Table: TableLines, Key: l.Code, Field: "code", Value: quoted(l.Code), Allowed: "a line with rates",
				Remedy: "without any in rates it makes nothing", Warning: true})
		}
		if l.State == lines.Down && l.DownUntil != 0 && l.DownUntil <= c.today {
			c.add(Problem{Table: TableLines, Key: l.Code, Field: "down until", Value: l.DownUntil.String(), Allowed: "after " + c.today.String(),
				Remedy: "if it is back set its state to ready, else enter the new day", Warning: true})
		}
		p, known := profiles[l.Mounted]
		if !known {
			continue
		}
		if !slices.Contains(made, l.Mounted) {
			c.add(Problem{Table: TableLines, Key: l.Code, Field: "mounted", Value: quoted(l.Mounted), Allowed: "a profile that the line has a rate for",
				Remedy: fmt.Sprintf("enter rates for %s or correct the profile", JoinKey(l.Code, l.Mounted))})
		}
		if dies[l.Mounted]++; dies[l.Mounted] > p.Dies {
			c.add(Problem{Table: TableLines, Key: l.Code, Field: "mounted", Value: quoted(l.Mounted),
				Allowed: fmt.Sprintf("on no more lines than it has dies, %d", p.Dies), Remedy: "correct what is mounted or the number of dies"})
		}
	}
}

// unmade warns of profiles that are asked for and can't be made: such a demand is met from the rack or not at all.
func (c *checker) unmade(ofProfile map[string]bool) {
	asked := map[string]int{}
	for _, o := range c.in.Orders {
		asked[o.Profile]++
	}
	for _, f := range c.in.Forecasts {
		asked[f.Profile]++
	}
	for _, p := range c.in.Profiles {
		if ofProfile[p.Code] {
			continue
		}
		remedy := "enter its rates, or take the profile out"
		if n := asked[p.Code]; n > 0 {
			remedy = fmt.Sprintf("enter its rates: %d rows of orders and forecast ask for it", n)
		}
		c.add(Problem{Table: TableProfiles, Key: p.Code, Field: "code", Value: quoted(p.Code),
			Allowed: "a profile that some line has a rate for", Remedy: remedy, Warning: true})
	}
}

// families checks the die families named in changeovers, and warns of changes between families of a line
// that no row covers: the plan takes them to cost nothing.
func (c *checker) families(onLine map[string][]string, profiles map[string]lines.Profile) {
	var known []string
	for _, p := range c.in.Profiles {
		if !slices.Contains(known, p.DieFamily) {
			known = append(known, p.DieFamily)
		}
	}
	for _, x := range c.in.Changeovers {
		for field, family := range map[string]string{"from": x.From, "to": x.To} {
			if family == "" || family == lines.AnyFamily || slices.Contains(known, family) {
				continue
			}
			p := Problem{Table: TableChangeovers, Key: changeoverKey(x), Field: field, Value: quoted(family),
				Allowed: "a die family of profiles, or * for any", Warning: true}
			if near, ok := Nearest(family, known); ok {
				p.Remedy = fmt.Sprintf("did you mean %q?", near)
			}
			c.add(p)
		}
	}
	c.uncovered(onLine, profiles)
}

func (c *checker) uncovered(onLine map[string][]string, profiles map[string]lines.Profile) {
	var missing []string
	for _, l := range c.in.Lines {
		for _, a := range onLine[l.Code] {
			for _, b := range onLine[l.Code] {
				from, to := profiles[a].DieFamily, profiles[b].DieFamily
				if _, ok := lines.ChangeoverBetween(c.in.Changeovers, from, to); ok {
					continue
				}
				if pair := JoinKey(from, to); !slices.Contains(missing, pair) {
					missing = append(missing, pair)
				}
			}
		}
	}
	if len(missing) == 0 {
		return
	}
	slices.Sort(missing)
	shown := strings.Join(missing[:min(len(missing), 5)], ", ")
	if n := len(missing) - 5; n > 0 {
		shown += fmt.Sprintf(" and %d more", n)
	}
	c.add(Problem{Table: TableChangeovers, Key: missing[0], Field: "hours", Value: "none for " + shown, Allowed: "a row for each change between families of a line",
		Remedy: "until then it takes no time; a row from * to * covers all", Warning: true})
}
