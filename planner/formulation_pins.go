package planner

import "feedline/planner/model"

// buildPins is limit 11. A pin that can't be kept (no hours, no die) is priced, so that there is always a plan.
func (f *formulation) buildPins() {
	f.broken = make([]ref, len(f.pins))
	for i, p := range f.pins {
		if p.hours <= 0 {
			continue
		}
		broken := column(f.m.AddVar(label("pinbroken", p.pin.Code, i), 0, p.hours, 0))
		f.cost(broken, costPins, pinPricePerHour)
		f.broken[i] = broken
		switch p.pin.Kind {
		case PinIdle:
			f.pinIdle(p, broken)
		case PinForbid:
			f.pinForbid(p, broken)
		default:
			f.pinRun(p, broken)
		}
	}
}

// pinIdle leaves the line the bucket's hours outside the pin; a bucket that it covers is off.
func (f *formulation) pinIdle(p pinned, broken ref) {
	free := f.avail[p.line][p.bucket] - p.hours
	r := f.busy(p.line, p.bucket).add(broken, -1)
	f.emit(r, -model.Infinity, free, "pinidle", p.pin.Code, p.bucket)
	if free <= quantumHours {
		f.emit(new(row).add(f.on[p.line][p.bucket], p.hours).add(broken, -1), -model.Infinity, 0, "pinoff", p.pin.Code, p.bucket)
	}
}

// busy is the hours that line l is crewed for in bucket t: runs, changeovers and start-up.
func (f *formulation) busy(l, t int) *row {
	r := new(row).add(f.started[l][t], float64(f.in.Lines[l].Startup.Hours))
	for _, j := range f.fitsOf[l] {
		r.add(f.run[j][t], 1).add(f.changed[j][t], f.fits[j].setup)
	}
	return r
}

// pinForbid leaves the profile the bucket's hours outside the pin.
func (f *formulation) pinForbid(p pinned, broken ref) {
	for _, j := range f.fitsOf[p.line] {
		if f.fits[j].profile == p.profile {
			f.emit(new(row).add(f.run[j][p.bucket], 1).add(broken, -1), -model.Infinity, f.avail[p.line][p.bucket]-p.hours, "pinforbid", p.pin.Code, p.bucket)
		}
	}
}

// pinRun keeps the line busy for the pin's hours; with a profile named, with that one and what it takes to get to it.
func (f *formulation) pinRun(p pinned, broken ref) {
	r := f.busy(p.line, p.bucket)
	if p.profile >= 0 {
		r = new(row).add(f.started[p.line][p.bucket], float64(f.in.Lines[p.line].Startup.Hours))
		for _, j := range f.fitsOf[p.line] {
			if f.fits[j].profile == p.profile {
				r.add(f.run[j][p.bucket], 1).add(f.changed[j][p.bucket], f.fits[j].setup)
			}
		}
	}
	f.emit(r.add(broken, 1), p.hours, model.Infinity, "pinrun", p.pin.Code, p.bucket)
}
