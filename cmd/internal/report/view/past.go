package view

import (
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/records"
)

// Content is a statement of recycled content as tables: the products, by their sources, and the balance of pellets, which is that of a period.
func Content(s records.Statement, opt Options) []Table {
	m := &maker{opt: opt}
	days, span := spanColumns(s.Span)
	if s.Order != "" {
		days, span = []Column{words("order")}, []Cell{text(s.Order)}
	}
	products := Table{Name: "products", Title: "Recycled content", Note: "What the products are made of, by source. " + records.ContentRule,
		Columns: append(append(days, words("product"), words("grade"), m.lengthColumn("length"), m.massColumn("mass")), append(m.sourceColumns(""),
			share("post-consumer share"), share("pre-consumer share"), share("recycled share"))...)}
	for _, c := range s.Products {
		row := append(append([]Cell{}, span...), text(c.Product), text(c.Grade), m.length(c.Length), m.mass(c.Mass()))
		for _, p := range c.Parts {
			row = append(row, m.mass(p.Mass))
		}
		products.Rows = append(products.Rows, append(row, percent(c.PostConsumer), percent(c.PreConsumer), percent(c.Recycled)))
	}
	balance := Table{Name: "balance", Title: "Mass balance of pellets", Note: "Opening + made + counted = used + closing; what went into those made, by source.", Empty: "A balance is of a period.",
		Columns: append(append(append([]Column{}, days...), words("grade"), m.massColumn("opening"), m.massColumn("made"), m.massColumn("counted"), m.massColumn("used"), m.massColumn("closing"), share("conversion")), m.sourceColumns(" in")...)}
	for _, b := range s.Grades {
		row := append(append([]Cell{}, span...), text(b.Grade), m.mass(b.Opening), m.mass(b.Made), m.mass(b.Counted), m.mass(b.Used), m.mass(b.Closing), conversion(b))
		for _, p := range b.In {
			row = append(row, m.mass(p.Mass))
		}
		balance.Rows = append(balance.Rows, row)
	}
	return []Table{products, balance}
}

// Actuals is plan against actual as tables: by line and profile, with the causes of each gap, and by day.
func Actuals(a records.Actuals, against string, opt Options) []Table {
	m := &maker{opt: opt}
	days, span := spanColumns(a.Span)
	days, span = append(days, words("against")), append(span, text(against))
	at := func(g records.Gap) []Cell { return append(append([]Cell{}, span...), text(g.Line), text(g.Profile)) }
	heads := append(append([]Column{}, days...), words("line"), words("profile"))
	amounts := []Column{m.lengthColumn("planned"), m.lengthColumn("made"), m.lengthColumn("gap"), m.massColumn("scrap planned"), m.massColumn("scrap"), m.massColumn("feed planned"), m.massColumn("feed")}
	row := func(planned, made quantity.Length, scrapPlanned, scrap, feedPlanned, feed quantity.Mass) []Cell {
		return []Cell{m.length(planned), m.length(made), m.length(made - planned), m.mass(scrapPlanned), m.mass(scrap), m.mass(feedPlanned), m.mass(feed)}
	}
	lines := Table{Name: "lines", Title: "By line and profile", Note: "What was planned and made.",
		Columns: append(append(append([]Column{}, heads...), amounts...), hourColumn("planned for it"), hourColumn("crewed"), hourColumn("run"), hourColumn("down"), hourColumn("set-up planned"), hourColumn("set-up"))}
	causes := Table{Name: "causes", Title: "Causes of the gap", Note: "They add up to the gap of their line and profile.", Columns: append(append([]Column{}, heads...), words("cause"), m.lengthColumn("length"))}
	for _, g := range a.Gaps {
		lines.Rows = append(lines.Rows, append(append(at(g), row(g.Planned, g.Made, g.PlannedScrap, g.Scrap, g.PlannedFeed, g.Feed)...), number(float64(g.PlannedHours)), number(float64(g.Hours)),
			number(float64(g.Run)), number(float64(g.Down)), number(float64(g.PlannedSetUp)), number(float64(g.SetUp))))
		for _, c := range g.Causes {
			causes.Rows = append(causes.Rows, append(at(g), text(c.Name), m.length(c.Length)))
		}
	}
	byDay := Table{Name: "days", Title: "By day", Note: "What was planned and made.", Columns: append([]Column{date("day"), words("against")}, amounts...)}
	for _, x := range a.Days {
		byDay.Rows = append(byDay.Rows, append([]Cell{day(x.Day), text(against)}, row(x.Planned, x.Made, x.PlannedScrap, x.Scrap, x.PlannedFeed, x.Feed)...))
	}
	return []Table{lines, causes, byDay}
}

// sourceColumns are the masses by source, in the order of a statement's parts.
func (m *maker) sourceColumns(of string) []Column {
	var list []Column
	for _, head := range []string{"post-consumer", "pre-consumer", "virgin", "own regrind", "unknown origin"} {
		list = append(list, m.massColumn(head+of))
	}
	return list
}

// spanColumns are the first and the last day of a period.
func spanColumns(s calendar.Span) ([]Column, []Cell) {
	return []Column{date("from"), date("to")}, []Cell{day(s.From), day(s.To - 1)}
}

func share(head string) Column { return Column{Head: head, Unit: "%", Kind: Number, Decimals: 1} }

// conversion is empty where no material was taken.
func conversion(b records.GradeBalance) Cell {
	x := percent(b.Conversion)
	x.None = x.None || !b.Converted()
	return x
}

// percent is a share in percent.
func percent(x quantity.Share) Cell { return number(100 * float64(x)) }
