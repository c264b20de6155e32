package book

import (
	"encoding/json"
	"fmt"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner/records"
)

// recordTable is the table of a kind of record. A row is an entry's; its head stands in entries.
type recordTable struct {
	kind    records.Kind
	name    string
	columns []string
	values  func(records.Record) []any
	record  func(records.Head, []any) (records.Record, error)
}

// recorded makes the table of records of type T: its head's setter and the cells of the rest.
func recorded[T records.Record](head func(*T, records.Head), bind func(*T) []cell) *recordTable {
	var zero T
	t := &recordTable{kind: zero.Head().Kind}
	t.name = records.TableOf(t.kind)
	for _, c := range bind(&zero) {
		t.columns = append(t.columns, c.name)
	}
	t.values = func(r records.Record) []any {
		x := r.(T)
		var list []any
		for _, c := range bind(&x) {
			list = append(list, c.get())
		}
		return list
	}
	t.record = func(h records.Head, values []any) (records.Record, error) {
		var x T
		head(&x, h)
		for i, c := range bind(&x) {
			if err := c.set(values[i]); err != nil {
				return nil, fmt.Errorf("%s %s: %w", t.name, h.Code, err)
			}
		}
		return x, nil
	}
	return t
}

// columnList is the columns as SQL names them, of the table called alias.
func (t *recordTable) columnList(alias string) string {
	return alias + `."` + strings.Join(t.columns, `", `+alias+`."`) + `"`
}

var recordTables = []*recordTable{
	recorded(func(r *records.Receipt, h records.Head) { r.Code, r.Day, r.Note = h.Code, h.Day, h.Note },
		func(r *records.Receipt) []cell {
			return append([]cell{
				text("lot", &r.Lot), orNull(text("delivery", &r.Delivery)), yes("part", &r.Part), orNull(text("lane", &r.Lane)),
				orNull(text("supplier", &r.Supplier)), text("material", &r.Material), text("form", &r.Form), text("source", &r.Source),
				date("ordered", &r.Ordered), number("gross_kg", &r.Gross), number("tare_kg", &r.Tare), number("net_kg", &r.Net),
			}, append(resultCells(&r.Moisture, &r.Contamination, &r.MFR, &r.Bromine, &r.HBCDD),
				text("decision", &r.Decision), text("reason", &r.Reason), text("was_status", &r.WasStatus), number("was_mass_kg", &r.WasMass))...)
		}),
	recorded(func(r *records.Test, h records.Head) { r.Code, r.Day, r.Note = h.Code, h.Day, h.Note },
		func(r *records.Test) []cell {
			return append([]cell{text("lot", &r.Lot)}, append(resultCells(&r.Moisture, &r.Contamination, &r.MFR, &r.Bromine, &r.HBCDD),
				text("decision", &r.Decision), text("reason", &r.Reason), yes("was_hold", &r.WasHold), text("was_reason", &r.WasReason))...)
		}),
	recorded(func(r *records.Process, h records.Head) { r.Code, r.Day, r.Note = h.Code, h.Day, h.Note },
		func(r *records.Process) []cell {
			return []cell{
				text("shift", &r.Shift), text("step", &r.Step), parts("lots", &r.Lots, drawPart), number("regrind_kg", &r.Regrind),
				orNull(text("grade", &r.Grade)), number("out_kg", &r.Out), number("filter_loss_kg", &r.FilterLoss), number("run_h", &r.Hours),
			}
		}),
	recorded(func(r *records.Run, h records.Head) { r.Code, r.Day, r.Note = h.Code, h.Day, h.Note },
		func(r *records.Run) []cell {
			return []cell{
				text("shift", &r.Shift), text("line", &r.Line), text("profile", &r.Profile), number("good_m", &r.Good), number("scrap_kg", &r.Scrap),
				number("fed_kg", &r.Fed), number("run_h", &r.Run), number("setup_h", &r.SetUp), number("down_h", &r.Down), parts("stops", &r.Stops, stopPart),
			}
		}),
	recorded(func(r *records.Count, h records.Head) { r.Code, r.Day, r.Note = h.Code, h.Day, h.Note },
		func(r *records.Count) []cell {
			return []cell{
				text("counted", &r.Counted), text("item", &r.Item), number("mass_kg", &r.Mass), number("length_m", &r.Length),
				number("book_mass_kg", &r.BookMass), number("book_length_m", &r.BookLength),
			}
		}),
	recorded(func(r *records.ETAChange, h records.Head) { r.Code, r.Day, r.Note = h.Code, h.Day, h.Note },
		func(r *records.ETAChange) []cell {
			return []cell{
				text("delivery", &r.Delivery), date("eta", &r.ETA), measured("spread_days", &r.Spread), text("status", &r.Status),
				date("was_eta", &r.WasETA), number("was_spread_days", &r.WasSpread), text("was_status", &r.WasStatus), yes("was_late", &r.WasLate),
			}
		}),
	recorded(func(r *records.Shipment, h records.Head) { r.Code, r.Day, r.Note = h.Code, h.Day, h.Note },
		func(r *records.Shipment) []cell {
			return []cell{orNull(text("order_code", &r.Order)), text("profile", &r.Profile), number("length_m", &r.Length)}
		}),
}

func recordTableOf(k records.Kind) *recordTable {
	for _, t := range recordTables {
		if t.kind == k {
			return t
		}
	}
	panic("book: kind of record without a table")
}

func resultCells(moisture, contamination, mfr, bromine, hbcdd *records.Measured) []cell {
	return []cell{measured("moisture", moisture), measured("contamination", contamination), measured("mfr_g_in_10_min", mfr),
		measured("bromine_mg_kg", bromine), measured("hbcdd_mg_kg", hbcdd)}
}

// orNull keeps "" as null.
func orNull(c cell) cell {
	return optional(c, func() bool { return c.get() == "" }, func() { _ = c.set("") })
}

// measured keeps a result that is not known as null.
func measured(name string, p *records.Measured) cell {
	return optional(number(name, &p.Value), func() bool { return !p.Known }, func() { *p = records.Measured{} }).then(func() { p.Known = true })
}

// then runs f after a value other than null was set.
func (c cell) then(f func()) cell {
	set := c.set
	c.set = func(v any) error {
		err := set(v)
		if err == nil && v != nil {
			f()
		}
		return err
	}
	return c
}

// part is a code with an amount.
type part struct {
	code   string
	amount float64
}

func (p part) MarshalJSON() ([]byte, error) { return json.Marshal([]any{p.code, p.amount}) }

func (p *part) UnmarshalJSON(b []byte) error { return json.Unmarshal(b, &[]any{&p.code, &p.amount}) }

// partOf is how a list's items are parts.
type partOf[T any] struct {
	to   func(T) part
	from func(part) T
}

var (
	drawPart = partOf[records.Draw]{
		func(d records.Draw) part { return part{d.Lot, float64(d.Mass)} },
		func(p part) records.Draw { return records.Draw{Lot: p.code, Mass: quantity.Mass(p.amount)} }}
	stopPart = partOf[records.Stopped]{
		func(s records.Stopped) part { return part{s.Reason, float64(s.Hours)} },
		func(p part) records.Stopped {
			return records.Stopped{Reason: p.code, Hours: quantity.Hours(p.amount)}
		}}
)

// parts keeps a list of codes with amounts as a JSON array of pairs; an empty one is read as nil.
func parts[T any](name string, p *[]T, of partOf[T]) cell {
	get := func() any {
		list := make([]part, len(*p))
		for i, x := range *p {
			list[i] = of.to(x)
		}
		b, err := json.Marshal(list)
		if err != nil {
			return nil // not a number, which the schema refuses
		}
		return string(b)
	}
	return cell{name: name, get: get, set: put(func(s string) error {
		*p = nil
		if s == "[]" {
			return nil
		}
		var list []part
		if err := json.Unmarshal([]byte(s), &list); err != nil {
			return damaged("%s %q", name, s)
		}
		for _, x := range list {
			*p = append(*p, of.from(x))
		}
		return nil
	})}
}
