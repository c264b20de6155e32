package book

import (
	"feedline/inventory"
	"feedline/planner"
	"feedline/yield"
)

var feedTables = []*table{
	list(planner.TableMaterials, 1, func(in *planner.Input) *[]inventory.Material { return &in.Materials },
		func(r *inventory.Material) []cell {
			return []cell{
				text("code", &r.Code),
				text("name", &r.Name),
				text("form", &r.Form),
				text("source", &r.Source),
				text("polymer", &r.Polymer),
				text("colour", &r.Colour),
				number("mfr_g_in_10_min", &r.MFR),
				number("moisture", &r.Moisture),
				number("contamination", &r.Contamination),
				number("price_a_kg", &r.Price),
				number("bulk_density_kg_m3", &r.BulkDensity),
			}
		}),
	list(planner.TableGrades, 1, func(in *planner.Input) *[]inventory.Grade { return &in.Grades },
		func(r *inventory.Grade) []cell {
			return []cell{
				text("code", &r.Code),
				text("name", &r.Name),
				number("silo_kg", &r.Silo),
				number("mfr_min_g_in_10_min", &r.MFRMin),
				number("mfr_max_g_in_10_min", &r.MFRMax),
				number("min_recycled", &r.MinRecycled),
				number("max_regrind", &r.MaxRegrind),
				number("max_hips", &r.MaxHIPS),
				number("stock_target_kg", &r.StockTarget),
			}
		}),
	list(planner.TableRecipes, 2, func(in *planner.Input) *[]inventory.Ingredient { return &in.Ingredients },
		func(r *inventory.Ingredient) []cell {
			return []cell{
				known("grade", &r.Grade, planner.TableGrades),
				known("material", &r.Material, planner.TableMaterials),
				number("min_share", &r.MinShare),
				number("max_share", &r.MaxShare),
			}
		}),
	list(planner.TableSteps, 1, func(in *planner.Input) *[]yield.Step { return &in.Steps },
		func(r *yield.Step) []cell {
			return []cell{
				text("code", &r.Code),
				text("name", &r.Name),
				whole("pass_order", &r.Order),
				words("forms", &r.Forms),
				number("yield", &r.Yield),
				number("rate_kg_h", &r.Rate),
				whole("machines", &r.Machines),
				number("availability", &r.Availability),
				number("cost_a_kg", &r.Cost),
			}
		}),
	list(planner.TableStepYields, 2, func(in *planner.Input) *[]yield.Override { return &in.Overrides },
		func(r *yield.Override) []cell {
			return []cell{
				known("step", &r.Step, planner.TableSteps),
				known("material", &r.Material, planner.TableMaterials),
				number("yield", &r.Yield),
			}
		}),
}
