package planner

import "feedline/planner/model"

// buildDemand is limit 5: metres made go to the rack or serve what is due; what is late is owed class by class.
//
//	rack[p,t−1] − Σ_c late[p,c,t−1] + Σ_l rate·run = demand[p,t] + rack[p,t] − Σ_c late[p,c,t]
//	late[p,c,t] ≤ late[p,c,t−1] + demand[p,c,t]        what was shipped stays shipped
func (f *formulation) buildDemand() {
	f.rack, f.metresRow = f.grid(len(f.in.Profiles)), f.rowGrid(len(f.in.Profiles))
	f.late, f.shippedRow = make([][][]ref, len(f.in.Profiles)), make([][][]model.Row, len(f.in.Profiles))
	for p := range f.in.Profiles {
		f.late[p], f.shippedRow[p] = f.grid(len(f.classes[p])), f.rowGrid(len(f.classes[p]))
		for t := range f.buckets {
			f.demandColumns(p, t)
			f.metres(p, t)
		}
	}
	for t := range f.buckets {
		f.rackSpace(t)
	}
}

func (f *formulation) demandColumns(p, t int) {
	pr, last := f.in.Profiles[p], t == len(f.buckets)-1
	f.rack[p][t] = column(f.m.AddVar(label("rack", pr.Code, t), 0, model.Infinity, 0))
	f.cost(f.rack[p][t], costHolding, float64(pr.Price)*float64(f.in.Plant.HoldingRate)*f.days(t)/daysAYear)
	if last {
		f.cost(f.rack[p][t], costEnd, -endStockShare*float64(pr.PerMetre)*f.pelletValue(f.gradeOf[p]))
	}
	if pr.StockTarget > 0 && !f.looseClasses {
		f.stockTarget(f.rack[p][t], float64(pr.StockTarget), float64(pr.Price)*f.targetPrice(t), "racktarget", pr.Code, t)
	}
	for c, cl := range f.classes[p] {
		owed := 0.0
		for o := 0; o <= t; o++ {
			owed += cl.metres[o]
		}
		if owed <= 0 {
			continue
		}
		f.late[p][c][t] = column(f.m.AddVar(label("late", pr.Code, cl.priority, t), 0, owed, 0))
		f.cost(f.late[p][c][t], costLate, cl.late*f.days(t))
		if last {
			f.cost(f.late[p][c][t], costUnmet, cl.unmet)
		}
		if len(f.classes[p]) > 1 && !f.lean && !f.looseClasses {
			was := before(f.late[p][c], t, 0)
			f.shippedRow[p][c][t] = f.emit(new(row).add(f.late[p][c][t], 1).add(was, -1), -model.Infinity, cl.metres[t], "shipped", pr.Code, cl.priority, t)
		}
	}
}

// metres is the balance of profile p over bucket t.
func (f *formulation) metres(p, t int) {
	r := new(row).add(before(f.rack[p], t, f.rack0[p]), 1).add(f.rack[p][t], -1)
	due := 0.0
	for c, cl := range f.classes[p] {
		r.add(before(f.late[p][c], t, 0), -1).add(f.late[p][c][t], 1)
		due += cl.metres[t]
	}
	for _, j := range f.fitsBy[p] {
		r.add(f.run[j][t], f.fits[j].rate)
		r.add(f.extraAt(j, t), f.fits[j].rate)
	}
	f.metresRow[p][t] = f.emit(r, due, due, "metres", f.in.Profiles[p].Code, t)
}

// rackSpace is limit 10 for the rack. What opening stock overfills is priced, not forbidden.
func (f *formulation) rackSpace(t int) {
	if f.in.Plant.Rack <= 0 {
		return
	}
	r := new(row)
	for p, pr := range f.in.Profiles {
		r.add(f.rack[p][t], pr.RackLitresPerMetre/litresPerCubicM)
	}
	over := column(f.m.AddVar(label("rackover", t), 0, model.Infinity, 0))
	f.cost(over, costOverfull, overfullPrice)
	f.emit(r.add(over, -1), -model.Infinity, float64(f.in.Plant.Rack), "rackspace", t)
}
