package book

import (
	"context"
	"database/sql"
	"strings"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/records"
)

// PlanOptions say what a plan is made of.
type PlanOptions struct {
	Today     calendar.Day // up to which open loads have waited; 0 = the book's clock in the plant's zone
	AsEntered bool         // no estimates: the figures entered
}

// LoadForPlan is Load for planning: figures that the plant's records tell better than what was entered are replaced by their estimates,
// which the input's Basis names, and lots whose results are over a limit are on hold whatever their row says. What it returns
// must not be saved.
func (b *Book) LoadForPlan(ctx context.Context, opt PlanOptions) (in *planner.Input, v Version, err error) {
	in, r, v, err := b.Estimates(ctx, opt.Today)
	if err != nil {
		return nil, 0, err
	}
	if !opt.AsEntered {
		in = estimates.Apply(in, r.Figures())
	}
	return in, v, nil
}

// Estimates is the input as entered, with lots over a limit on hold, and what its records say of it.
func (b *Book) Estimates(ctx context.Context, today calendar.Day) (in *planner.Input, r estimates.Report, v Version, err error) {
	var list []records.Entry
	err = b.read(ctx, func(tx *sql.Tx) error {
		in = &planner.Input{}
		if v, err = currentVersion(ctx, tx); err != nil {
			return err
		}
		if err = load(ctx, tx, in); err != nil {
			return err
		}
		list, err = entries(ctx, tx, Filter{Standing: true, Kinds: []records.Kind{records.KindReceipt, records.KindTest, records.KindProcess, records.KindRun, records.KindShipment}})
		return err
	})
	if err != nil {
		return nil, r, 0, err
	}
	if today == 0 {
		today = planner.StartDay(in, planner.Options{Now: b.clock()})
	}
	holdOver(in, list)
	return in, estimates.From(in, list, today), v, nil
}

// holdOver puts lots on hold whose results are over a limit.
func holdOver(in *planner.Input, list []records.Entry) {
	l := records.NewLedger(in)
	for _, e := range list {
		l.Remember(e.Record)
	}
	for i := range in.Lots {
		lot := &in.Lots[i]
		if why := l.Over(lot.Code); len(why) > 0 && !lot.Hold && tested(l, lot) {
			lot.Hold, lot.Reason = true, strings.Join(why, "; ")
		}
	}
}

// tested reports whether anything is recorded of a lot: one that was entered by a sheet alone is the sheet's matter.
func tested(l *records.Ledger, lot *inventory.Lot) bool { return l.Told(lot.Code) }
