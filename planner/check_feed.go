package planner

import (
	"cmp"
	"math"
	"slices"

	"feedline/inventory"
)

// shareSlack is how far shares that are meant to add up to 1 may miss it: they are entered with two or three decimals.
const shareSlack = 1e-6

// part is a recipe's bounds on the share of a material.
type part struct {
	material inventory.Material
	lo, hi   float64
}

// feed checks each grade's recipe: that shares can add up to 1, and that the blend can meet the grade's limits.
func (c *checker) feed() {
	materials := map[string]inventory.Material{}
	for _, m := range c.in.Materials {
		materials[m.Code] = m
	}
	parts := map[string][]part{}
	for _, i := range c.in.Ingredients {
		hi := orDefault(float64(i.MaxShare), 1)
		if m, ok := materials[i.Material]; ok {
			parts[i.Grade] = append(parts[i.Grade], part{m, float64(i.MinShare), hi})
		}
	}
	for _, g := range c.in.Grades {
		switch list := parts[g.Code]; {
		case len(list) == 0:
			c.add(Problem{Table: TableGrades, Key: g.Code, Field: "code", Value: quoted(g.Code), Allowed: "a grade with materials in recipes",
				Remedy: "without any only its pellets in stock can be used", Warning: true})
		case c.adds(g, list):
			c.window(g, list)
		}
	}
}

// adds reports whether the shares of a recipe can add up to 1, and adds a fault if not.
func (c *checker) adds(g inventory.Grade, list []part) bool {
	least, most := 0.0, float64(g.MaxRegrind)
	for _, p := range list {
		least, most = least+p.lo, most+p.hi
	}
	bad := Problem{Table: TableRecipes, Key: JoinKey(g.Code, list[0].material.Code)}
	switch {
	case least > 1+shareSlack:
		bad.Field, bad.Value = "min share", number(least)+" in all of "+g.Code
		bad.Allowed, bad.Remedy = "at most 1 in all of a grade", "lower the least shares of "+g.Code
	case most < 1-shareSlack:
		bad.Field, bad.Value = "max share", number(most)+" in all of "+g.Code+", own regrind included"
		bad.Allowed, bad.Remedy = "at least 1 in all of a grade", "raise the largest shares of "+g.Code+" or enter another material"
	default:
		return true
	}
	c.add(bad)
	return false
}

// window warns of limits of a grade that no blend within its recipe meets. Own regrind is made of the blend and so changes
// nothing in it, and a material of unknown melt flow rate counts as inside the window: as in the plan.
func (c *checker) window(g inventory.Grade, list []part) {
	try := func(field, value string, worth func(m inventory.Material) float64) {
		if reach(list, float64(g.MaxRegrind), worth) < -shareSlack {
			c.add(Problem{Table: TableGrades, Key: g.Code, Field: field, Value: value, Allowed: "a limit that the recipe's materials can meet",
				Remedy: "as it stands no pellets can be made: change the shares in recipes or the limit", Warning: true})
		}
	}
	flow := func(m inventory.Material, limit, sign float64) float64 {
		if m.MFR <= 0 {
			return 0
		}
		return sign * math.Log(m.MFR/limit)
	}
	if g.MFRMin > 0 {
		try("MFR min", number(g.MFRMin), func(m inventory.Material) float64 { return flow(m, g.MFRMin, 1) })
	}
	if g.MFRMax > 0 {
		try("MFR max", number(g.MFRMax), func(m inventory.Material) float64 { return flow(m, g.MFRMax, -1) })
	}
	try("min recycled", number(float64(g.MinRecycled)), func(m inventory.Material) float64 {
		return isOne(recycled(m)) - float64(g.MinRecycled)
	})
	try("max HIPS", number(float64(g.MaxHIPS)), func(m inventory.Material) float64 {
		return float64(g.MaxHIPS) - isOne(m.Polymer == "HIPS")
	})
}

// reach is the largest Σ share·worth over the shares that a recipe allows, with own regrind of worth 0:
// a knapsack of divisible goods, filled by falling worth.
func reach(list []part, regrind float64, worth func(inventory.Material) float64) float64 {
	type good struct{ worth, room float64 }
	goods := []good{{0, regrind}}
	left, sum := 1.0, 0.0
	for _, p := range list {
		w := worth(p.material)
		left, sum = left-p.lo, sum+p.lo*w
		goods = append(goods, good{w, p.hi - p.lo})
	}
	slices.SortFunc(goods, func(a, b good) int { return cmp.Compare(b.worth, a.worth) })
	for _, g := range goods {
		x := min(g.room, max(0, left))
		left, sum = left-x, sum+x*g.worth
	}
	return sum
}
