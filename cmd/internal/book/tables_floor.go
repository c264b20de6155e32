package book

import (
	"feedline/lines"
	"feedline/planner"
)

var stateWords = []string{lines.Running: "running", lines.Ready: "ready", lines.Down: "down", lines.Uncommissioned: "uncommissioned"}

var floorTables = []*table{
	list(planner.TableProfiles, 1, func(in *planner.Input) *[]lines.Profile { return &in.Profiles },
		func(r *lines.Profile) []cell {
			return []cell{
				text("code", &r.Code),
				text("name", &r.Name),
				known("grade", &r.Grade, planner.TableGrades),
				number("mass_kg_m", &r.PerMetre),
				text("die_family", &r.DieFamily),
				whole("dies", &r.Dies),
				number("price_a_m", &r.Price),
				number("rack_l_m", &r.RackLitresPerMetre),
				number("stock_target_m", &r.StockTarget),
			}
		}),
	list(planner.TableLines, 1, func(in *planner.Input) *[]lines.Line { return &in.Lines },
		func(r *lines.Line) []cell {
			return []cell{
				text("code", &r.Code),
				text("name", &r.Name),
				word("state", &r.State, stateWords...),
				date("down_until", &r.DownUntil),
				date("commissioning_earliest", &r.Commissioning.Earliest),
				whole("commissioning_days", &r.Commissioning.Days),
				number("commissioning_cost", &r.Commissioning.Cost),
				maybe("mounted", &r.Mounted, planner.TableProfiles),
				number("crew", &r.Crew),
				number("startup_h", &r.Startup.Hours),
				number("startup_scrap_kg", &r.Startup.Scrap),
				number("startup_cost", &r.Startup.Cost),
				whole("min_run_days", &r.MinRunDays),
				whole("min_stop_days", &r.MinStopDays),
				number("screw_mm", &r.ScrewMM),
				number("base_kw", &r.BaseKW),
				number("energy_kwh_kg", &r.KWhPerKg),
				text("note", &r.Note),
			}
		}),
	list(planner.TableRates, 2, func(in *planner.Input) *[]lines.Fit { return &in.Fits },
		func(r *lines.Fit) []cell {
			return []cell{
				known("line", &r.Line, planner.TableLines),
				known("profile", &r.Profile, planner.TableProfiles),
				number("melt_kg_h", &r.Melt),
				number("haul_off_m_min", &r.HaulOff),
				whole("strands", &r.Strands),
				number("availability", &r.Availability),
				number("quality", &r.Quality),
			}
		}),
	list(planner.TableChangeovers, 2, func(in *planner.Input) *[]lines.Changeover { return &in.Changeovers },
		func(r *lines.Changeover) []cell {
			return []cell{
				text("from_family", &r.From),
				text("to_family", &r.To),
				number("line_h", &r.Hours),
				number("scrap_kg", &r.Scrap),
				number("fitter_h", &r.FitterHours),
				number("cost", &r.Cost),
			}
		}),
}
