package yield

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"feedline/inventory/quantity"
)

func TestChainFor(t *testing.T) {
	c := Chain{
		Steps: []Step{
			{Code: "pelletize", Order: 20, Forms: []string{"ingot", "flake", "regrind"}, Yield: 0.96, Rate: 400, Machines: 1, Availability: 0.9, Cost: 0.10},
			{Code: "crush", Order: 10, Forms: []string{"ingot"}, Yield: 0.98, Rate: 500, Machines: 2, Availability: 0.9, Cost: 0.02},
			{Code: "screen", Order: 20, Forms: []string{"ingot"}, Yield: 0.99},
		},
		Overrides: []Override{{Step: "crush", Material: "dirty", Yield: 0.90}},
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-15 {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	p := c.For("clean", "ingot")
	var order []string
	for _, s := range p.Steps {
		order = append(order, s.Step)
	}
	if diff := cmp.Diff([]string{"crush", "pelletize", "screen"}, order); diff != "" {
		t.Errorf("steps passed: %s", diff)
	}
	near("yield", float64(p.Yield), 0.98*0.96*0.99)
	near("cost a kg received", float64(p.CostPerKg), 0.02+0.98*0.10)
	near("crusher hours a kg", float64(p.Steps[0].HoursPerKg), 1.0/500)
	near("pelletizer hours a kg received", float64(p.Steps[1].HoursPerKg), 0.98/400)
	near("hours of a step without a rate", float64(p.Steps[2].HoursPerKg), 0)
	near("yield of the overridden material", float64(c.For("dirty", "ingot").Yield), 0.90*0.96*0.99)
	near("yield of flake", float64(c.For("dirty", "flake").Yield), 0.96)
	if got := c.For("bought", "pellet"); got.Yield != 1 || got.CostPerKg != 0 || len(got.Steps) != 0 {
		t.Errorf("pellets pass %+v, want nothing", got)
	}
}

func chains() *rapid.Generator[Chain] {
	share := rapid.Map(rapid.Float64Range(0.01, 1), func(x float64) quantity.Share { return quantity.Share(x) })
	return rapid.Custom(func(t *rapid.T) Chain {
		var c Chain
		for i := range rapid.IntRange(0, 6).Draw(t, "steps") {
			s := Step{Code: string(rune('a' + i)), Order: rapid.IntRange(0, 3).Draw(t, "order"), Yield: share.Draw(t, "yield"),
				Rate: quantity.MassRate(rapid.Float64Range(0, 1000).Draw(t, "rate")), Cost: quantity.MassPrice(rapid.Float64Range(0, 1).Draw(t, "cost"))}
			if rapid.Bool().Draw(t, "passes") {
				s.Forms = []string{"ingot"}
			}
			c.Steps = append(c.Steps, s)
			if rapid.Bool().Draw(t, "overridden") {
				c.Overrides = append(c.Overrides, Override{Step: s.Code, Material: "m", Yield: share.Draw(t, "override")})
			}
		}
		return c
	})
}

// Mass is conserved in each step, into the next, and in all; the order of steps does not change the yield.
func TestMassIsConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := chains().Draw(t, "chain").For("m", "ingot")
		in, lost, cost := quantity.Mass(1), quantity.Mass(0), quantity.MassPrice(0)
		for _, s := range p.Steps {
			if s.In != in {
				t.Fatalf("step %s takes %v kg of the %v kg that came", s.Step, s.In, in)
			}
			if s.Out > s.In || s.Out < 0 {
				t.Fatalf("step %s makes %v kg of %v kg", s.Step, s.Out, s.In)
			}
			lost += s.In - s.Out
			cost += s.Cost
			in = s.Out
		}
		if math.Abs(float64(in+lost-1)) > 1e-12 || math.Abs(float64(in)-float64(p.Yield)) > 1e-15 {
			t.Fatalf("1 kg received, %v kg of pellets and %v kg lost; yield %v", in, lost, p.Yield)
		}
		if cost != p.CostPerKg {
			t.Fatalf("steps cost %v, path %v", cost, p.CostPerKg)
		}
	})
}

func loops() *rapid.Generator[Loop] {
	return rapid.Custom(func(t *rapid.T) Loop {
		f := func(name string, lo float64) quantity.Share {
			return quantity.Share(rapid.Float64Range(lo, 1).Draw(t, name))
		}
		return Loop{Quality: f("quality", 0.05), Recovery: f("recovery", 0), MaxShare: f("cap", 0)}
	})
}

func TestLoopConservesMass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := chains().Draw(t, "chain").For("m", "ingot")
		l := loops().Draw(t, "loop")
		b := p.ToGood(l)
		out := b.Good + b.StepLoss + b.ScrapLoss + b.Surplus
		if math.Abs(float64(out-b.Received)) > 1e-11 {
			t.Fatalf("received %v kg, good and lost %v kg: %+v", b.Received, out, b)
		}
		if math.Abs(float64(b.Fresh+b.Returned-b.Extruded)) > 1e-11*(1+float64(b.Extruded)) {
			t.Fatalf("fresh %v and returned %v are not the %v kg extruded", b.Fresh, b.Returned, b.Extruded)
		}
		if b.Returned > b.Extruded*quantity.Mass(l.MaxShare)*(1+1e-12) {
			t.Fatalf("%v kg of regrind in %v kg, at most %v", b.Returned, b.Extruded, l.MaxShare)
		}
		if m := b.Metres(0.25); math.Abs(float64(m)*float64(b.PerMetre(0.25))-1) > 1e-12 {
			t.Fatalf("%v m a kg and %v kg a metre", m, b.PerMetre(0.25))
		}
	})
}

// The settled share is where a line ends up that feeds a kilogram at a time, as much regrind as it has and may.
func TestLoopSettles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := loops().Draw(t, "loop")
		l.Quality = max(l.Quality, 0.3)
		regrind, used := 0.0, 0.0
		const passes = 400
		for range passes {
			used = min(regrind, float64(l.MaxShare))
			regrind += float64((1-l.Quality)*l.Recovery) - used
		}
		if math.Abs(used-float64(l.Share())) > 1e-9 {
			t.Fatalf("after %d passes %v regrind in the feed, closed form %v", passes, used, l.Share())
		}
		series, term := 0.0, 1.0
		for range 400 {
			series += term
			term *= float64(l.Share())
		}
		if math.Abs(series-l.Throughput()) > 1e-9*series {
			t.Fatalf("series %v, closed form %v", series, l.Throughput())
		}
	})
}

func TestLoopWithoutQuality(t *testing.T) {
	if b := (Path{Yield: 0.9}).ToGood(Loop{Recovery: 1, MaxShare: 1}); b.Good != 0 || b.Extruded != 0 || b.Metres(1) != 0 || b.PerMetre(1) != 0 {
		t.Errorf("nothing good: %+v", b)
	}
}

func TestCheck(t *testing.T) {
	good := Step{Code: "crush", Forms: []string{"ingot"}, Yield: 0.98, Rate: 500, Machines: 1, Availability: 0.9}
	for _, c := range []struct {
		field   string
		warning bool
		change  func(*Step)
	}{
		{"Code", false, func(s *Step) { s.Code = "" }},
		{"Forms", true, func(s *Step) { s.Forms = nil }},
		{"Yield", false, func(s *Step) { s.Yield = 0 }},
		{"Yield", false, func(s *Step) { s.Yield = 98 }},
		{"Yield", false, func(s *Step) { s.Yield = quantity.Share(math.NaN()) }},
		{"Yield", true, func(s *Step) { s.Yield = 0.02 }}, // the loss entered for the yield
		{"Rate", false, func(s *Step) { s.Rate = -1 }},
		{"Machines", false, func(s *Step) { s.Machines = 0 }},
		{"Availability", false, func(s *Step) { s.Availability = 90 }},
		{"Cost", false, func(s *Step) { s.Cost = -1 }},
	} {
		s := good
		c.change(&s)
		if list := s.Check(); len(list) != 1 || list[0].Field != c.field || list[0].Warning != c.warning {
			t.Errorf("problems %v, want one of %s", list, c.field)
		}
	}
	chain := Chain{Steps: []Step{good}, Overrides: []Override{{"crush", "a", 0.9}, {"crush", "a", 0.8}, {"grind", "a", 0.9}}}
	if list := chain.Check(); len(good.Check()) != 0 || len(list) != 2 || list[0].Field != "Overrides[1].Step" || list[1].Field != "Overrides[2].Step" {
		t.Errorf("problems of the chain: %v", list)
	}
	if list := (Override{Yield: 2}).Check(); len(list) != 3 {
		t.Errorf("problems of an override: %v", list)
	}
	if list := (Loop{}).Check(); len(list) != 1 || list[0].Field != "Quality" {
		t.Errorf("problems of a loop: %v", list)
	}
}
