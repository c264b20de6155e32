package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
)

// RecordOptions say who records, and whether it is history.
type RecordOptions struct {
	Who  string
	Note string // of the revision in the log; "" names the records
	// History remembers the records without booking them against lots, stock, deliveries and orders, which were stated otherwise.
	History bool
	// Check books nothing: it says what would be.
	Check bool
	// Expect is as in SaveOptions.
	Expect Version
}

// Recorded is what became of a batch of records.
type Recorded struct {
	Entries  []records.Entry   // as booked, in the order of the batch; those recorded already as they are in the book
	New      int               // entries that this call made
	Already  int               // records that the book had, alike in all that they say
	Warnings []planner.Problem // doubts that keep nothing from being recorded
	Version  Version
}

// Record books records in one transaction, all or none: entries with who and when, their moves, and what follows for lots, stock,
// deliveries, orders and lines, which is in the log of changes as well. They are booked by day and, within a day, in the order of
// records.Kinds. A record whose code is known among its kind is passed over if it says the same, so that a batch can be recorded
// twice. One that can't be booked is refused with a *records.Refused that names its place in the batch.
func (b *Book) Record(ctx context.Context, opt RecordOptions, list ...records.Record) (out Recorded, err error) {
	return b.Import(ctx, nil, opt, list...)
}

// Import saves in, unless it is nil, and books records on top of it, all in one transaction.
func (b *Book) Import(ctx context.Context, in *planner.Input, opt RecordOptions, list ...records.Record) (out Recorded, err error) {
	r := b.recording(ctx, SaveOptions{Who: opt.Who, Note: opt.Note, Expect: opt.Expect})
	r.history = opt.History
	if in != nil {
		if err := r.saving.wanted(in); err != nil {
			return out, err
		}
	}
	err = b.write(ctx, func(tx *sql.Tx) error {
		r.tx = tx
		if err := r.prepare(in); err != nil {
			return err
		}
		if err := r.book(list); err != nil {
			return err
		}
		if opt.Check {
			return errChecked
		}
		return r.store()
	})
	if errors.Is(err, errChecked) {
		err = nil
	}
	if err != nil {
		return Recorded{}, err
	}
	r.out.Version = r.version
	return r.out, nil
}

// errChecked undoes a transaction that was only to be tried.
var errChecked = errors.New("checked")

// Reverse takes the entry with the number id back, by an entry of its own; why is kept with it. What it did to lots, stock,
// deliveries and orders is undone, unless it was history. It is refused with a *records.Refused where something later stands on it.
func (b *Book) Reverse(ctx context.Context, id int64, who, why string) (out Recorded, err error) {
	r := b.recording(ctx, SaveOptions{Who: who, Note: fmt.Sprintf("reverse entry %d: %s", id, why)})
	err = b.write(ctx, func(tx *sql.Tx) error {
		r.tx = tx
		if err := r.prepare(nil); err != nil {
			return err
		}
		return r.reverse(id, why)
	})
	r.out.Version = r.version
	return r.out, err
}

// recording is one run of Record or Reverse: a saving of what the records do to the input, and the entries.
type recording struct {
	saving
	history bool
	ledger  *records.Ledger
	next    int64 // number of the next entry
	fresh   []records.Entry
	out     Recorded
}

func (b *Book) recording(ctx context.Context, opt SaveOptions) *recording {
	if opt.Who == "" {
		opt.Who = b.actor.Name
	}
	return &recording{saving: saving{ctx: ctx, at: b.now(), opt: opt, may: b.may, checked: map[Right]bool{}}}
}

// mayRecord asks for the right to record; what follows from a record for stock, lots, deliveries and orders needs no other.
func (r *recording) mayRecord() error {
	if err := r.allowed(RightRecord); err != nil {
		return err
	}
	r.may = func(context.Context, *sql.Tx, Right) error { return nil }
	return nil
}

// prepare saves in, or loads the book's, and readies the ledger.
func (r *recording) prepare(in *planner.Input) error {
	var err error
	if in != nil {
		err = r.saving.run()
	} else {
		in = &planner.Input{}
		if err = r.checkVersion(); err == nil {
			err = load(r.ctx, r.tx, in)
		}
	}
	if err != nil {
		return err
	}
	r.ledger = records.NewLedger(in)
	at, err := parseNow(r.at)
	if err != nil {
		return err
	}
	r.ledger.Today = planner.StartDay(in, planner.Options{Now: at})
	for _, k := range []records.Kind{records.KindReceipt, records.KindTest, records.KindCount} {
		clause := standing
		if k == records.KindCount {
			clause += " AND NOT e.history"
		}
		err := recordTableOf(k).each(r.ctx, r.tx, clause, nil, func(e records.Entry) error { r.ledger.Remember(e.Record); return nil })
		if err != nil {
			return err
		}
	}
	return r.tx.QueryRowContext(r.ctx, "SELECT coalesce(max(id), 0) + 1 FROM entries").Scan(&r.next)
}

// book posts the records that are new, by day.
func (r *recording) book(list []records.Record) error {
	if len(list) > 0 {
		if err := r.mayRecord(); err != nil {
			return err
		}
	}
	known, err := r.known(list)
	if err != nil {
		return err
	}
	if err := r.rememberDays(list); err != nil {
		return err
	}
	if err := r.rememberRuns(list); err != nil {
		return err
	}
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return compareHeads(list[i].Head(), list[j].Head()) })
	r.out.Entries = make([]records.Entry, len(list))
	var all []*records.Refused
	var refused *records.Refused
	ran := false // a run is new
	for _, i := range order {
		h := list[i].Head()
		key := entryKey{h.Kind, h.Code}
		if have, ok := known[key]; ok && h.Code != "" {
			if field, same := records.Says(list[i], have.Record); !same {
				return alreadyThere(i, list[i], have, field)
			}
			r.out.Entries[i] = have
			r.out.Already++
			continue
		}
		e, err := r.post(list[i])
		if errors.As(atIndex(err, i), &refused) {
			all = append(all, refused)
			continue
		}
		if err != nil {
			return err
		}
		if err := r.recount(e); err != nil {
			return err
		}
		known[key] = e
		r.out.Entries[i] = e
		ran = ran || h.Kind == records.KindRun
	}
	if ran && !r.history {
		r.out.Warnings = append(r.out.Warnings, r.ledger.Stood()...)
	}
	return together(all)
}

// together is one refusal of several, the first of them in the lead; nil of none.
func together(all []*records.Refused) error {
	if len(all) == 0 {
		return nil
	}
	for _, more := range all[1:] {
		all[0].Problems = append(all[0].Problems, more.Problems...)
	}
	return all[0]
}

func compareHeads(a, b records.Head) int {
	if a.Day != b.Day {
		return int(a.Day) - int(b.Day)
	}
	return slices.Index(records.Kinds, a.Kind) - slices.Index(records.Kinds, b.Kind)
}

// post makes an entry of a record, with a code if it has none.
func (r *recording) post(rec records.Record) (records.Entry, error) {
	numbered := rec.Head().Code != ""
	if !numbered {
		rec = records.Coded(rec, ownCode(rec.Head().Kind, r.next))
	}
	filled, moves, warnings, err := r.ledger.Post(rec, r.history)
	if err != nil {
		return records.Entry{}, err
	}
	r.out.Warnings = append(append(r.out.Warnings, warnings...), r.ledger.Seen(filled, numbered)...)
	e := records.Entry{ID: r.next, Who: r.opt.Who, Head: filled.Head(), History: r.history, Record: filled, Moves: moves}
	if e.At, err = parseNow(r.at); err != nil {
		return e, err
	}
	r.next++
	r.out.New++
	r.fresh = append(r.fresh, e)
	return e, nil
}

// recount books stock back that was counted on a later day than e's.
func (r *recording) recount(e records.Entry) error {
	list, warnings := r.ledger.Recounts(e)
	said := len(r.out.Warnings)
	for _, x := range list {
		if _, err := r.post(x); err != nil {
			return err
		}
		r.out.New-- // nobody entered it
	}
	r.out.Warnings = append(r.out.Warnings[:said], warnings...)
	return nil
}

// ownCode is the code that the book gives an entry whose writer gave it none.
func ownCode(k records.Kind, id int64) string { return fmt.Sprintf("%s-%d", k, id) }

// rememberDays tells the ledger of the standing entries of the list's kinds and days, so that it notices what is entered twice.
func (r *recording) rememberDays(list []records.Record) error {
	days := map[records.Kind]calendar.Span{}
	for _, x := range list {
		h := x.Head()
		s, ok := days[h.Kind]
		if !ok {
			s = calendar.Span{From: h.Day, To: h.Day}
		}
		days[h.Kind] = calendar.Span{From: min(s.From, h.Day), To: max(s.To, h.Day)}
	}
	for k, s := range days {
		err := recordTableOf(k).each(r.ctx, r.tx, standing+" AND e.day BETWEEN ? AND ?", []any{s.From.String(), s.To.String()}, func(e records.Entry) error {
			r.ledger.Seen(e.Record, e.Head.Code != ownCode(k, e.ID))
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// rememberRuns tells the ledger of the standing runs since the first of the list's and a while before it, so that it knows which is the latest.
func (r *recording) rememberRuns(list []records.Record) error {
	first := calendar.Day(0)
	for _, x := range list {
		if h := x.Head(); h.Kind == records.KindRun && (first == 0 || h.Day < first) {
			first = h.Day
		}
	}
	if first == 0 || r.history {
		return nil
	}
	const while = 60 // days
	return recordTableOf(records.KindRun).each(r.ctx, r.tx, standing+" AND e.day >= ?", []any{(first - while).String()}, func(e records.Entry) error {
		r.ledger.Ran(e.Record.(records.Run))
		return nil
	})
}

func atIndex(err error, i int) error {
	var refused *records.Refused
	if errors.As(err, &refused) {
		refused.Index = i
	}
	return err
}

func alreadyThere(i int, r records.Record, have records.Entry, field string) error {
	h, table := r.Head(), records.TableOf(r.Head().Kind)
	return &records.Refused{Index: i, Problems: []planner.Problem{{Table: table, Key: h.Code, Field: planner.FieldName(table, "Code"), Value: fmt.Sprintf("%q", h.Code),
		Allowed: "a number that is not recorded yet, or the same record again",
		Remedy: fmt.Sprintf("entry %d of %s by %s says otherwise in %s: reverse it first, or give this one a number of its own",
			have.ID, have.At.Format("2006-01-02"), orUnknown(have.Who), planner.FieldName(table, field))}}}
}

type entryKey struct {
	kind records.Kind
	code string
}

// known is the standing entries that have a code of the list's.
func (r *recording) known(list []records.Record) (map[entryKey]records.Entry, error) {
	codes := map[records.Kind][]string{}
	for _, x := range list {
		if h := x.Head(); h.Code != "" {
			codes[h.Kind] = append(codes[h.Kind], h.Code)
		}
	}
	found := map[entryKey]records.Entry{}
	for k, list := range codes {
		clause, args := standing, []any{}
		if len(list) < 100 {
			clause += " AND e.code IN (?" + strings.Repeat(", ?", len(list)-1) + ")"
			for _, c := range list {
				args = append(args, c)
			}
		}
		err := recordTableOf(k).each(r.ctx, r.tx, clause, args, func(e records.Entry) error {
			found[entryKey{k, e.Head.Code}] = e
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return found, nil
}

// reverse books the reversal of an entry.
func (r *recording) reverse(id int64, why string) error {
	if err := r.mayRecord(); err != nil {
		return err
	}
	e, err := entryByID(r.ctx, r.tx, id)
	if err != nil {
		return err
	}
	if err := r.rememberRuns([]records.Record{e.Record}); err != nil {
		return err
	}
	moves, warnings, err := r.ledger.Reverse(e)
	if err != nil {
		return err
	}
	x := records.Entry{ID: r.next, Who: r.opt.Who, History: e.History, Reverses: id, Moves: moves,
		Head: records.Head{Kind: records.KindReversal, Code: fmt.Sprint("reversal-", r.next), Day: e.Head.Day, Note: why}}
	if x.At, err = parseNow(r.at); err != nil {
		return err
	}
	r.out = Recorded{Entries: []records.Entry{x}, New: 1, Warnings: warnings}
	r.fresh = []records.Entry{x}
	r.next++
	if err := r.recount(x); err != nil {
		return err
	}
	return r.store()
}
