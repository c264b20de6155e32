package records

import (
	"fmt"

	"feedline/planner"
)

// Reverse takes an entry back: its moves with the other sign, and what it did to lots, deliveries and orders undone. It is refused
// where something later stands on it: a lot that was drawn, a delivery that was changed again. The entry itself stays.
func (l *Ledger) Reverse(e Entry) ([]Move, []planner.Problem, error) {
	h := e.Head
	l.begin(h, e.History)
	switch {
	case e.Reverses != 0:
		l.fault("Entry", fmt.Sprint(e.ID), "an entry that is no reversal", fmt.Sprintf("record what entry %d reversed once more", e.ID))
	case e.ReversedBy != 0:
		l.fault("Entry", fmt.Sprint(e.ID), "an entry that stands", fmt.Sprintf("entry %d reversed it already", e.ReversedBy))
	}
	if len(l.faults) == 0 {
		l.undo(e)
	}
	if len(l.faults) > 0 {
		return nil, nil, &Refused{Index: -1, Problems: l.faults}
	}
	for _, m := range e.Moves {
		switch {
		case m.Account == InProfile:
			l.postLength(m.Code, -m.Grams, -m.Millis)
		case m.Account == InLot || m.Account == InPellets || m.Account == InRegrind:
			l.post(m.Account, m.Code, -m.Grams)
		default:
			l.move(m.Account, m.Code, -m.Grams, -m.Millis)
		}
	}
	return l.settled(), l.warnings, nil
}

// undo takes back what the entry did beside its moves, or says why that can't be.
func (l *Ledger) undo(e Entry) {
	if e.History {
		return
	}
	for _, m := range e.Moves {
		if i, ok := l.lots[m.Code]; m.Account == InLot && (!ok || Grams(l.in.Lots[i].Mass) < m.Grams) {
			l.fault("Entry", fmt.Sprint(e.ID), "an entry on whose lot nothing stands", fmt.Sprintf("lot %s was drawn since: reverse those runs first", m.Code))
			return
		}
	}
	switch r := e.Record.(type) {
	case Receipt:
		l.undoReceipt(r)
	case Test:
		if i, ok := l.lots[r.Lot]; ok {
			l.in.Lots[i].Hold, l.in.Lots[i].Reason = r.WasHold, r.WasReason
		}
	case ETAChange:
		l.undoETA(r)
	case Run:
		l.undoRun(r)
	case Shipment:
		if i, ok := l.orders[r.Order]; ok {
			l.in.Orders[i].Length = LengthOf(Millis(l.in.Orders[i].Length) + Millis(r.Length))
		}
	}
}

func (l *Ledger) undoReceipt(r Receipt) {
	if i, ok := l.lots[r.Lot]; ok {
		l.in.Lots[i].Hold, l.in.Lots[i].Reason = true, reversedReceipt
	}
	i, ok := l.deliveries[r.Delivery]
	if !ok {
		return
	}
	d := &l.in.Deliveries[i]
	if r.Part && d.Coming() {
		d.Mass = MassOf(Grams(d.Mass) + r.NetGrams())
		return
	}
	d.Status, d.Mass = r.WasStatus, r.WasMass
}

func (l *Ledger) undoETA(r ETAChange) {
	i, ok := l.deliveries[r.Delivery]
	if !ok {
		return
	}
	d := &l.in.Deliveries[i]
	if r.ETA != 0 && d.ETA != r.ETA || r.Status != "" && d.Status != r.Status || r.Spread.Known && d.Spread != r.Spread.Value {
		l.fault("Delivery", fmt.Sprintf("%q", r.Delivery), "a delivery that has not been changed since", "reverse the later change, or record a new one")
		return
	}
	d.ETA, d.Spread, d.Status, d.Late = r.WasETA, r.WasSpread, r.WasStatus, r.WasLate
}
