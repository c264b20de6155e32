package sheets

import (
	"feedline/inventory"
	"feedline/lines"
	"feedline/planner"
)

// recordingTables is what records are held against; plans are not made of them.
var recordingTables = []table{
	{name: planner.TableReasons, keys: 1, rows: func(in *planner.Input) any { return &in.Reasons },
		explain: "the plant's own codes for why a line stood", columns: []column{
			code("Code", "short code of the reason", "DIE").need(),
			text("Name", "what it means", "Die blocked or burnt"),
			word("Kind", words(lines.Stop, lines.SetUp, lines.PlannedStop),
				"stop (time lost), set-up (a changeover or a start), planned (no busy time, such as a lack of orders); blank is stop", "stop").or("stop"),
		}},
	{name: planner.TableLimits, keys: 2, rows: func(in *planner.Input) any { return &in.Limits },
		explain: "the most of something that a lot may have to be fed; a lot over one waits on hold. The law differs by place and use: enter what holds for the plant", columns: []column{
			word("Measure", words(inventory.Measures...), "what is measured", "HBCDD").need(),
			text("Use", "place and use that the limit holds for", "EU, profiles").need(),
			num("Most", nil, "the limit: mg/kg for bromine and HBCDD, g/10 min for MFR, a share for moisture and contamination", "75").need(),
			yesNo("Required", "whether a lot without a result waits on hold", "no"),
			text("Source", "law, standard or customer's paper that the limit is from", "Regulation (EU) 2019/1021, Annex I, as amended by (EU) 2024/2555"),
		}},
	{name: planner.TableOverrules, keys: 1, rows: func(in *planner.Input) any { return &in.Overrules },
		explain: "estimates that a plan is not to use: the figure entered counts instead", columns: []column{
			code("Estimate", "its name, as feedline estimates prints it", "yield PELLETIZE WHITE-INGOT").need(),
			text("Note", "why", "new filter, old runs say nothing"),
		}},
}
