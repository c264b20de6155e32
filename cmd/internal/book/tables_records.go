package book

import (
	"feedline/inventory"
	"feedline/lines"
	"feedline/planner"
)

var recordingTables = []*table{
	list(planner.TableReasons, 1, func(in *planner.Input) *[]lines.Reason { return &in.Reasons },
		func(r *lines.Reason) []cell {
			return []cell{
				text("code", &r.Code),
				text("name", &r.Name),
				text("kind", &r.Kind),
			}
		}),
	list(planner.TableLimits, 2, func(in *planner.Input) *[]inventory.Limit { return &in.Limits },
		func(r *inventory.Limit) []cell {
			return []cell{
				text("measure", &r.Measure),
				text("use", &r.Use),
				number("most", &r.Most),
				yes("required", &r.Required),
				text("source", &r.Source),
			}
		}),
	list(planner.TableOverrules, 1, func(in *planner.Input) *[]planner.Overrule { return &in.Overrules },
		func(r *planner.Overrule) []cell {
			return []cell{
				text("estimate", &r.Estimate),
				text("note", &r.Note),
			}
		}),
}
