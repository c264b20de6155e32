package benchplant

import (
	"fmt"
	"math"
	"slices"

	"feedline/inventory/quantity"
	"feedline/lines"
)

// product is a profile with what is sold of it.
type product struct {
	code     string
	family   int
	grade    int
	perMetre float64 // kg
	dies     int
	weekly   float64 // metres sold in a usual week
}

// family is a die family.
type family struct {
	code     string
	profiles int
	haulOff  float64 // m/min a strand
	strands  int
	quality  float64
	within   float64 // hours of a changeover to a sister die
	across   float64 // hours of a changeover from another family
}

// machine is a line.
type machine struct {
	code         string
	melt         float64 // kg/h
	availability float64
	families     []int
}

// profilesAFamily is how many profiles share a die family.
const profilesAFamily = 5

func (w *works) grades() int { return min(6, 2+w.Profiles/20, (w.Profiles+1)/2) }

// drawProducts draws the families and their profiles.
func (w *works) drawProducts() {
	n := min(w.Profiles, max(2, (w.Profiles+profilesAFamily-1)/profilesAFamily))
	for i := range n {
		f := family{code: fmt.Sprintf("F%02d", i+1), haulOff: roundTo(w.between(4, 9), 0.5), strands: 1 + i%2, quality: roundTo(w.between(0.94, 0.97), 0.005)}
		f.within, f.across = roundTo(w.between(3, 4.5), 0.25), roundTo(w.between(5, 9), 0.25)
		w.families = append(w.families, f)
	}
	for p := range w.Profiles {
		f := p % n
		w.families[f].profiles++
		w.products = append(w.products, product{code: fmt.Sprintf("P%03d", p+1), family: f, grade: (p / 2) % w.grades(),
			perMetre: roundTo(w.between(0.1, 0.7), 0.01), dies: 1 + w.rng.IntN(2), weekly: w.between(0.3, 1.7)})
	}
}

// acrossHours is the mean of the changeovers to a profile of the family.
func (w *works) acrossHours(f family) float64 { return (f.within + f.across) / 2 }

// drawMachines draws the lines and deals the families out to them: each runs at least on two lines if there are two.
func (w *works) drawMachines() {
	for l := range w.Lines {
		w.machines = append(w.machines, machine{code: fmt.Sprintf("L%02d", l+1), melt: roundTo(w.between(60, 160), 1), availability: roundTo(w.between(0.84, 0.92), 0.01)})
	}
	each := max(2, min(len(w.families), (3*w.Lines+len(w.families)-1)/len(w.families)))
	next := 0
	for f := range w.families {
		for range min(each, w.Lines) {
			m := &w.machines[next%w.Lines]
			if slices.Contains(m.families, f) {
				next++
				m = &w.machines[next%w.Lines]
			}
			m.families = append(m.families, f)
			next++
		}
	}
	for l := range w.machines {
		if m := &w.machines[l]; len(m.families) == 0 {
			m.families = append(m.families, w.rng.IntN(len(w.families)))
		}
	}
}

// metresAnHour is the good metres of product p on machine m, 0 if it can't run there.
func (w *works) metresAnHour(m machine, p product) float64 {
	if !slices.Contains(m.families, p.family) {
		return 0
	}
	f := w.families[p.family]
	return min(m.melt/p.perMetre, f.haulOff*60*float64(f.strands)) * m.availability * f.quality
}

func (w *works) profiles() []lines.Profile {
	var list []lines.Profile
	for _, p := range w.products {
		list = append(list, lines.Profile{Code: p.code, Name: "profile " + p.code, Grade: gradeCode(p.grade), PerMetre: quantity.LinearDensity(p.perMetre),
			DieFamily: w.families[p.family].code, Dies: p.dies, Price: quantity.LengthPrice(roundTo(0.15+3.3*p.perMetre, 0.01)),
			RackLitresPerMetre: roundTo(5.5*p.perMetre, 0.1), StockTarget: quantity.Length(roundTo(0.2*p.weekly, 100))})
	}
	return list
}

// lines are all running but, of six or more, the last, which stands ready.
func (w *works) lines() []lines.Line {
	var list []lines.Line
	taken := map[int]bool{}
	for i, m := range w.machines {
		ln := lines.Line{Code: m.code, Name: "line " + m.code, Crew: 2, ScrewMM: math.Round(45 + m.melt/4), BaseKW: math.Round(m.melt / 6), KWhPerKg: 0.28,
			Startup: lines.Startup{Hours: 5, Scrap: 70, Cost: 600}, MinRunDays: 14, MinStopDays: 7}
		if i == w.Lines-1 && w.Lines >= 6 {
			ln.State = lines.Ready
		} else {
			for p, pr := range w.products {
				if !taken[p] && slices.Contains(m.families, pr.family) {
					ln.Mounted, taken[p] = pr.code, true
					break
				}
			}
		}
		list = append(list, ln)
	}
	return list
}

func (w *works) fits() []lines.Fit {
	var list []lines.Fit
	for _, m := range w.machines {
		for _, p := range w.products {
			if w.metresAnHour(m, p) <= 0 {
				continue
			}
			f := w.families[p.family]
			list = append(list, lines.Fit{Line: m.code, Profile: p.code, Melt: quantity.MassRate(m.melt), HaulOff: quantity.Speed(f.haulOff), Strands: f.strands,
				Availability: quantity.Share(m.availability), Quality: quantity.Share(f.quality)})
		}
	}
	return list
}

func (w *works) changeovers() []lines.Changeover {
	change := func(from, to string, hours float64) lines.Changeover {
		return lines.Changeover{From: from, To: to, Hours: quantity.Hours(hours), Scrap: quantity.Mass(roundTo(10*hours, 5)), FitterHours: quantity.Hours(hours), Cost: quantity.Money(roundTo(12*hours, 5))}
	}
	var list []lines.Changeover
	for _, f := range w.families {
		list = append(list, change(lines.AnyFamily, f.code, f.across), change(f.code, f.code, f.within))
	}
	return list
}
