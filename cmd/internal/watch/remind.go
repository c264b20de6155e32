package watch

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/watch/alert"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// remind looks at the last plan again, a day having passed, and posts the loads that are to be ordered soon and that nobody has
// acknowledged.
func (d *Desk) remind(ctx context.Context, _ Run) (string, error) {
	in, p, _, err := d.lastPlan(ctx)
	if err != nil {
		return noPlan(err)
	}
	word, err := d.look(ctx, in, p, []string{alert.OrderBy})
	if err != nil {
		return word, err
	}
	open, err := d.openAlerts(ctx)
	if err != nil {
		return word, err
	}
	open = slices.DeleteFunc(open, func(a *alert.Alert) bool { return a.Kind != alert.OrderBy || a.State != alert.Open })
	planned, firstDay := d.plannedLoads(p, in.Plant.Units)
	if len(open)+len(planned) == 0 {
		return joinWords(word, "nothing is to be ordered soon"), nil
	}
	slices.SortFunc(open, func(a, b *alert.Alert) int { return strings.Compare(a.ByDay, b.ByDay) })
	subject := fmt.Sprintf("feedline: the plan orders from %s on", firstDay)
	var text strings.Builder
	if len(open) > 0 {
		subject = fmt.Sprintf("feedline: order by %s: %s", open[0].ByDay, open[0].Subject)
		text.WriteString("Loads to order, the most urgent first:\n\n")
	}
	for _, a := range open {
		text.WriteString(a.Text())
	}
	if len(planned) > 0 {
		if len(open) > 0 {
			text.WriteString("\n")
		}
		text.WriteString("The last plan counts on these loads, ordered on these days; once ordered, enter them as deliveries:\n\n" + strings.Join(planned, "\n") + "\n")
	}
	var list []book.Outgoing
	for _, r := range d.Config.To {
		if r.Email == "" || len(r.Alerts) > 0 && !slices.Contains(r.Alerts, alert.OrderBy) {
			continue
		}
		o, err := d.outgoing("mail", r.Email, subject, text.String(), open)
		if err != nil {
			return word, err
		}
		list = append(list, o)
	}
	var parts []string
	if len(open) > 0 {
		parts = append(parts, fmt.Sprintf("for short grades: %d", len(open)))
	}
	if len(planned) > 0 {
		parts = append(parts, fmt.Sprintf("in the plan: %d, from %s on", len(planned), firstDay))
	}
	return joinWords(word, "orders to place soon "+strings.Join(parts, ", ")), d.Book.Post(ctx, list)
}

// plannedLoads are the loads that the plan orders within the days of the configuration, or was to have ordered, a row each, and the first day.
func (d *Desk) plannedLoads(p *planner.Plan, units quantity.System) (rows []string, first calendar.Day) {
	soon := slices.DeleteFunc(slices.Clone(p.Purchases), func(x planner.Purchase) bool {
		return x.OrderBy > d.today()+calendar.Day(d.Config.Alerts.OrderDays)
	})
	slices.SortStableFunc(soon, func(a, b planner.Purchase) int { return cmp.Compare(a.OrderBy, b.OrderBy) })
	for i, x := range soon {
		if i == 0 {
			first = x.OrderBy
		}
		loads := "loads"
		if x.Loads == 1 {
			loads = "load"
		}
		rows = append(rows, fmt.Sprintf("%s  %d %s (%s) on %s, to arrive on %s", x.OrderBy, x.Loads, loads, x.Mass.Format(units, 0), x.Lane, x.Arrives))
	}
	return rows, first
}
