package cli

import (
	"fmt"
	"slices"
	"strings"

	"feedline/cmd/internal/report"
	"feedline/planner"
)

// views are the parts of a plan that --show prints, in the order that "all" prints them.
var views = []string{"answer", "runs", "feed", "orders", "why", "estimates"}

func knownView(v string) error {
	if v == "all" || slices.Contains(views, v) {
		return nil
	}
	return fmt.Errorf("--show %q, allowed: %s or all", v, strings.Join(views, ", "))
}

// look is how text is printed on this terminal for this plant.
func (a *app) look(in *planner.Input) report.Options {
	return report.Options{Width: a.width(), Color: a.colour(), ASCII: a.ascii(), Units: in.Plant.Units}
}

func (a *app) printView(in *planner.Input, p *planner.Plan, view string) error {
	for _, v := range views {
		if view != v && view != "all" {
			continue
		}
		var err error
		switch v {
		case "answer":
			err = report.Text(a.Out, in, p, a.look(in))
		case "runs":
			err = report.Runs(a.Out, in, p, a.look(in))
		case "feed":
			err = report.Feed(a.Out, in, p, a.look(in))
		case "why":
			err = report.Why(a.Out, in, p, a.look(in))
		case "orders":
			err = report.Orders(a.Out, in, p, a.look(in))
		case "estimates":
			err = report.PlannedWith(a.Out, p, a.moved, a.look(in))
		}
		if err != nil {
			return err
		}
		if view == "all" {
			fmt.Fprintln(a.Out)
		}
	}
	return nil
}

// mostWarnings is how many warnings about the book are printed before the rest is only counted.
const mostWarnings = 8

// warn prints the book's warnings to stderr.
func (a *app) warn(in *planner.Input, opt planner.Options) {
	a.warnings(in.Check(planner.StartDay(in, opt)))
}

// warnings prints those of a list of problems that are warnings.
func (a *app) warnings(list []planner.Problem) {
	n := 0
	for _, p := range list {
		if !p.Warning {
			continue
		}
		if n++; n <= mostWarnings {
			a.say("feedline: warning: %s", p)
		}
	}
	if n > mostWarnings {
		a.say("feedline: warning: and %d more", n-mostWarnings)
	}
}
