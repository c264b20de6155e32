package book

import "feedline/planner"

var demandTables = []*table{
	list(planner.TableOrders, 1, func(in *planner.Input) *[]planner.Order { return &in.Orders },
		func(r *planner.Order) []cell {
			return []cell{
				text("code", &r.Code),
				text("customer", &r.Customer),
				known("profile", &r.Profile, planner.TableProfiles),
				number("length_m", &r.Length),
				date("due", &r.Due),
				whole("priority", &r.Priority),
				number("price_a_m", &r.Price),
			}
		}),
	list(planner.TableForecast, 2, func(in *planner.Input) *[]planner.Forecast { return &in.Forecasts },
		func(r *planner.Forecast) []cell {
			return []cell{
				known("profile", &r.Profile, planner.TableProfiles),
				date("from_day", &r.From),
				date("to_day", &r.To),
				number("length_m", &r.Length),
			}
		}),
	list(planner.TablePins, 1, func(in *planner.Input) *[]planner.Pin { return &in.Pins },
		func(r *planner.Pin) []cell {
			return []cell{
				text("code", &r.Code),
				text("kind", &r.Kind),
				known("line", &r.Line, planner.TableLines),
				maybe("profile", &r.Profile, planner.TableProfiles),
				date("from_day", &r.From),
				date("to_day", &r.To),
				text("note", &r.Note),
			}
		}),
}
