package book

import (
	"feedline/inventory"
	"feedline/planner"
)

var supplyTables = []*table{
	list(planner.TableSuppliers, 1, func(in *planner.Input) *[]inventory.Supplier { return &in.Suppliers },
		func(r *inventory.Supplier) []cell {
			return []cell{
				text("code", &r.Code),
				text("name", &r.Name),
				text("country", &r.Country),
			}
		}),
	list(planner.TableLanes, 1, func(in *planner.Input) *[]inventory.Lane { return &in.Lanes },
		func(r *inventory.Lane) []cell {
			return []cell{
				text("code", &r.Code),
				text("name", &r.Name),
				known("supplier", &r.Supplier, planner.TableSuppliers),
				known("material", &r.Material, planner.TableMaterials),
				text("mode", &r.Mode),
				yes("import", &r.Import),
				number("load_kg", &r.Load),
				whole("min_loads", &r.MinLoads),
				number("loads_a_week", &r.LoadsAWeek),
				text("lead_time_distribution", &r.LeadTime.Distribution),
				number("lead_time_mean_days", &r.LeadTime.Mean),
				number("lead_time_sd_days", &r.LeadTime.SD),
				number("price_a_kg", &r.Price),
				number("freight_a_load", &r.Freight),
				text("currency", &r.Currency),
				number("exchange_rate", &r.Rate),
				date("from_day", &r.From),
				date("to_day", &r.To),
				weekdays("order_days", &r.OrderDays),
			}
		}),
	list(planner.TableDeliveries, 1, func(in *planner.Input) *[]inventory.Delivery { return &in.Deliveries },
		func(r *inventory.Delivery) []cell {
			return []cell{
				text("code", &r.Code),
				maybe("lane", &r.Lane, planner.TableLanes),
				known("material", &r.Material, planner.TableMaterials),
				number("mass_kg", &r.Mass),
				date("ordered", &r.Ordered),
				date("eta", &r.ETA),
				number("spread_days", &r.Spread),
				text("status", &r.Status),
				yes("late", &r.Late),
				text("note", &r.Note),
			}
		}),
	list(planner.TableLots, 1, func(in *planner.Input) *[]inventory.Lot { return &in.Lots },
		func(r *inventory.Lot) []cell {
			return []cell{
				text("code", &r.Code),
				known("material", &r.Material, planner.TableMaterials),
				maybe("supplier", &r.Supplier, planner.TableSuppliers),
				number("mass_kg", &r.Mass),
				date("received", &r.Received),
				yes("hold", &r.Hold),
				text("reason", &r.Reason),
			}
		}),
	list(planner.TableStock, 2, func(in *planner.Input) *[]inventory.Stock { return &in.Stock },
		func(r *inventory.Stock) []cell {
			counted := planner.TableGrades
			if r.Kind == inventory.ProfileStock {
				counted = planner.TableProfiles
			}
			return []cell{
				text("kind", &r.Kind),
				known("code", &r.Code, counted),
				number("mass_kg", &r.Mass),
				number("length_m", &r.Length),
			}
		}),
}
