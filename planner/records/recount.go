package records

import (
	"fmt"

	"feedline/lines/calendar"
	"feedline/planner"
)

// What was counted stays: a record of a day before the last count of its stock, entered or reversed after it, tells how the stock came to be,
// not what there is. It is booked as any other, so that lots and content can be followed by day, and a count of the counted day books the
// stock back to what it was.

// lastCount is the latest count of an account that stands.
type lastCount struct {
	day  calendar.Day
	code string
}

func (l *Ledger) learnCount(r Count) {
	k := moveKey{r.Counted, r.Item}
	if r.Day > l.counted[k].day {
		l.counted[k] = lastCount{r.Day, r.Code}
	}
}

// Recounts is the counts that set stock back to what it was before e, which was booked just now, where it was counted on a later day than e's;
// a warning of each. They are to be booked after e.
func (l *Ledger) Recounts(e Entry) (list []Record, warnings []planner.Problem) {
	if e.History {
		return nil, nil
	}
	for _, m := range e.Moves {
		c, ok := l.counted[moveKey{m.Account, m.Code}]
		if !ok || c.day <= e.Head.Day {
			continue
		}
		mass, length := l.have(m.Account, m.Code)
		r := Count{Day: c.day, Counted: m.Account, Item: m.Code, Note: fmt.Sprintf("%s of %s is of before count %s", e.Head.Code, e.Head.Day, c.code)}
		if m.Account == InProfile {
			r.Length = LengthOf(Millis(length) - m.Millis)
		} else {
			r.Mass = MassOf(Grams(mass) - m.Grams)
		}
		list = append(list, r)
		warnings = append(warnings, planner.Problem{Table: TableOf(e.Head.Kind), Key: e.Head.Code, Field: "day", Value: e.Head.Day.String(), Warning: true,
			Allowed: fmt.Sprintf("as a rule %s or later: count %s of that day found what there is of %s %s", c.day, c.code, m.Account, m.Code),
			Remedy:  "what was counted stays, the difference is booked back by a count; if the record is of after it, reverse that count"})
	}
	return list, warnings
}
