package console

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedline/inventory/quantity"
	"feedline/planner/records"
)

// onRecords is a console on the screen of records, with its diary.
func onRecords(t *testing.T, w, h int) (*stage, *diary) {
	t.Helper()
	n, d := needs(newShelf(plant()), &sums{}, map[string]string{}), &diary{}
	n.Recorder = d
	return perform(t, setting{needs: &n, first: "records", w: w, h: h}), d
}

// atLot selects a lot in the stock.
func (s *stage) atLot(code string) {
	s.t.Helper()
	s.at("counts", "lot "+code)
}

// at gives a table the keyboard and selects a row of it.
func (s *stage) at(table, key string) {
	s.t.Helper()
	for range 6 {
		if s.c.view().focus == table {
			break
		}
		s.press("Tab")
	}
	s.press("g")
	for range 80 {
		if picked(s.c.view(), table) == key {
			return
		}
		s.press("j")
	}
	s.t.Fatalf("%s has no row %s:\n%s", table, key, s.text())
}

// TestRecordForms fills each form in by its keys, a usual entry and a full one, and holds what arrives at the recorder.
func TestRecordForms(t *testing.T) {
	const yesterday, today = "2027-01-04", "2027-01-05"
	for _, x := range []struct {
		name string
		keys func(s *stage)
		kind records.Kind
		want map[string]string // those that are not blank
	}{
		{"a run", func(s *stage) {
			s.press("Enter")
			s.write("7 000")
			s.press("Tab")
			s.write("80")
			s.press("Tab")
			s.write("22.5")
			s.press("Tab", "Tab")
			s.write("1")
			s.press("Tab")
			s.write("DIE 0.5")
			s.press("Ctrl-S")
		}, records.KindRun, map[string]string{"line": "L1", "profile": "SK80", "good metres": "7 000", "scrap": "80", "run time": "22.5", "set-up time": "1", "stops": "DIE 0.5", "day": yesterday}},
		{"another run", func(s *stage) {
			s.press("j", "n", "PgDn", "Enter") // a profile that L2 can run
			s.write("500")
			s.press("Tab", "Tab")
			s.write("2")
			s.press("Ctrl-S")
		}, records.KindRun, map[string]string{"line": "L2", "profile": "PK110", "good metres": "500", "run time": "2", "day": yesterday}},
		{"a receipt", func(s *stage) {
			s.at("receipts", "D-101")
			s.press("Enter", "Ctrl-S")
		}, records.KindReceipt, map[string]string{"delivery": "D-101", "ticket": "D-101", "lot": "D-101", "net": "22 000", "part": "no", "day": today}},
		{"a load that was not announced", func(s *stage) {
			s.press("c")
			s.write("T-9")
			s.press("Tab", "Tab", "Tab", "Tab", "PgDn", "Tab", "PgDn", "PgUp", "Tab")
			s.write("36.5t")
			s.press("Tab")
			s.write("14700")
			s.press("Ctrl-S")
		}, records.KindReceipt, map[string]string{"ticket": "T-9", "material": plant().Materials[0].Code, "ordered": "2027-01-04", "gross": "36.5t", "tare": "14700", "part": "no", "day": today}},
		{"a process run of the lot in hand", func(s *stage) {
			s.atLot("A-2211")
			s.press("p")
			s.write("2 000")
			s.press("Down", "Down", "Down", "Down") // the grade stands there
			s.write("1905")
			s.press("Tab")
			s.write("22")
			s.press("Tab")
			s.write("5.5")
			s.press("Ctrl-S")
		}, records.KindProcess, map[string]string{"step": "PEL", "lots": "A-2211 2000", "grade": "WH", "out": "1905", "filter loss": "22", "hours": "5.5", "day": yesterday}},
		{"a process run of two lots and regrind", func(s *stage) {
			s.atLot("A-2211")
			s.press("p")
			s.write("1.2 t")
			s.press("Tab")
			s.write("A-2207 800")
			s.press("Tab")
			s.write("100")
			s.press("Tab", "Tab")
			s.write("2000")
			s.press("Ctrl-S")
		}, records.KindProcess, map[string]string{"step": "PEL", "lots": "A-2211 1.2 t; A-2207 800", "regrind": "100", "grade": "WH", "out": "2000", "day": yesterday}},
		{"crushing, of which no pellets come", func(s *stage) {
			s.atLot("A-2211")
			s.press("p", "Up", "Up", "PgUp", "Down", "Down")
			s.write("1000")
			s.press("Down", "Down", "Down", "Down")
			s.write("985")
			s.press("Ctrl-S")
		}, records.KindProcess, map[string]string{"step": "CRU", "lots": "A-2211 1000", "out": "985", "day": yesterday}},
		{"a test beside its limits", func(s *stage) {
			s.atLot("A-2207")
			s.press("t")
			s.has("limit 75 mg/kg")
			s.has("limit 6.00 %")
			s.write("1.2")
			s.press("Tab")
			s.write("38")
			s.press("Tab")
			s.write("0.4")
			s.press("Tab")
			s.write("7.8")
			s.press("Tab")
			s.write("35")
			s.press("Ctrl-S")
		}, records.KindTest, map[string]string{"lot": "A-2207", "contamination": "1.2 %", "HBCDD": "38", "moisture": "0.4 %", "MFR": "7.8", "bromine": "35", "day": today}},
		{"a hold", func(s *stage) {
			s.atLot("A-2207")
			s.press("b")
			s.write("smells of solvent")
			s.press("Ctrl-S")
		}, records.KindTest, map[string]string{"lot": "A-2207", "decision": "hold", "reason": "smells of solvent", "day": today}},
		{"a release", func(s *stage) {
			for _, l := range plant().Lots {
				if l.Hold {
					s.atLot(l.Code)
				}
			}
			s.press("b", "Ctrl-S")
		}, records.KindTest, map[string]string{"lot": held(), "decision": "release", "day": today}},
		{"a shipment of what is there", func(s *stage) {
			s.at("shipments", "O-4103")
			s.press("Enter", "Ctrl-S")
		}, records.KindShipment, map[string]string{"order": "O-4103", "length": "4 800", "day": today}},
		{"a shipment of the next order", func(s *stage) {
			s.press("s")
			s.write("")
			s.press("Up", "Up", "PgDn", "Ctrl-S")
		}, records.KindShipment, map[string]string{"order": "O-4102", "length": "1 500", "day": today}},
		{"a shipment without an order", func(s *stage) {
			s.at("counts", "profile CV60")
			s.press("s")
			s.write("300")
			s.press("Ctrl-S")
		}, records.KindShipment, map[string]string{"profile": "CV60", "length": "300", "day": today}},
		{"a new ETA", func(s *stage) {
			s.at("receipts", "D-101")
			s.press("d", "PgDn", "PgDn", "Enter", "PgDn", "PgDn", "Enter", "Enter")
			s.write("missed its transhipment")
			s.press("Ctrl-S")
		}, records.KindETA, map[string]string{"delivery": "D-101", "ETA": "2027-01-09", "status": "afloat", "note": "missed its transhipment", "day": today}},
		{"a count", func(s *stage) {
			s.at("counts", "pellets WH")
			s.press("Enter")
			s.write("24 000")
			s.press("Ctrl-S")
		}, records.KindCount, map[string]string{"counted": "pellets", "item": "WH", "mass": "24 000", "day": today}},
	} {
		t.Run(x.name, func(t *testing.T) {
			s, d := onRecords(t, 80, 24)
			x.keys(s)
			s.idle()
			e := d.last()
			got := map[string]string{}
			for k, v := range e.Fields {
				if v != "" {
					got[k] = v
				}
			}
			if diff := cmp.Diff(x.want, got); e.Kind != x.kind || diff != "" {
				t.Errorf("%s (-want +got):\n%s%s", e.Kind, diff, s.text())
			}
			s.has("Recorded: " + string(x.kind))
			if len(d.list) != 1 || s.c.modal != nil {
				t.Errorf("%d records, form open: %v\n%s", len(d.list), s.c.modal != nil, s.text())
			}
			s.at("entries", "1")
			s.press("x")
			s.has("Take record 1, " + string(x.kind))
			s.press("y")
			s.idle()
			if len(d.list) != 0 {
				t.Error("it was not taken back")
			}
		})
	}
}

// held is the lot of the demonstration that is on hold.
func held() string {
	for _, l := range plant().Lots {
		if l.Hold {
			return l.Code
		}
	}
	return ""
}

// TestRecordFormsRefuse: what is wrong is told at its field, all that was typed stays, and put right it is recorded.
func TestRecordFormsRefuse(t *testing.T) {
	for _, x := range []struct {
		name        string
		open, wrong func(s *stage)
		field, says string
		right       func(s *stage)
	}{
		{"more than went in", func(s *stage) { s.atLot("A-2211"); s.press("p") }, func(s *stage) {
			s.write("1000")
			s.press("Down", "Down", "Down", "Down")
			s.write("1100")
		}, "out", "no more than went in", func(s *stage) { s.rub(4); s.write("960") }},
		{"more than the lot has", func(s *stage) { s.atLot("A-2211"); s.press("p") }, func(s *stage) { s.write("99 t") },
			"taken", "no more than the book has left of it, 22 800.0 kg", func(s *stage) { s.rub(4); s.write("1000") }},
		{"no number", func(s *stage) { s.atLot("A-2211"); s.press("p") }, func(s *stage) {
			s.write("1000")
			s.press("Down", "Down", "Down", "Down", "Down")
			s.write("many")
		}, "filter loss", "is not a number", func(s *stage) { s.rub(4); s.write("20") }},
		{"a lot that is not there", func(s *stage) { s.atLot("A-2207"); s.press("t", "Up") }, func(s *stage) {
			s.write("X")
			s.press("Down")
			s.has("The book has no lot A-2207X")
			s.write("1")
		}, "lot", `did you mean "A-2207"?`, func(s *stage) { s.rub(1) }},
		{"a lot on hold", func(s *stage) { s.atLot(held()); s.press("p") }, func(s *stage) { s.write("100") },
			"lot", "a lot that is not on hold", func(s *stage) { s.rub(6); s.write("A-2211"); s.press("Tab") }},
		{"another lot that is not there", func(s *stage) { s.atLot("A-2211"); s.press("p") }, func(s *stage) { s.write("100"); s.press("Tab"); s.write("Q-1 50") },
			"more", "the code of a lot", func(s *stage) { s.rub(6) }},
		{"a share over one", func(s *stage) { s.atLot("A-2207"); s.press("t") }, func(s *stage) { s.write("120") },
			"contamination", "allowed", func(s *stage) { s.rub(3); s.write("2") }},
		{"a hold without a reason", func(s *stage) { s.atLot("A-2207"); s.press("b") }, func(*stage) {},
			"reason", "why the lot is on hold", func(s *stage) { s.write("wet") }},
		{"a release over the limit", func(s *stage) { s.atLot("A-2207"); s.press("t") }, func(s *stage) {
			s.press("Tab")
			s.write("90")
			s.press("Tab", "Tab", "Tab", "Tab")
			s.write("release")
		}, "decision", "hold, as long as a limit is exceeded", func(s *stage) { s.rub(7) }},
		{"more than is open", func(s *stage) { s.at("shipments", "O-4101"); s.press("s") }, func(s *stage) { s.rub(5); s.write("5000") },
			"length", "no more than is still to be delivered", func(s *stage) { s.rub(4); s.write("600") }},
		{"an order that is gone", func(s *stage) { s.press("s", "Up", "Up") }, func(s *stage) { s.write("9") },
			"order", "the code of an order", func(s *stage) { s.rub(1) }},
		{"an ETA as it was", func(s *stage) { s.at("receipts", "D-101"); s.press("d") }, func(*stage) {},
			"ETA", "is what the book has", func(s *stage) { s.press("PgDn") }},
		{"no day", func(s *stage) { s.at("receipts", "D-101"); s.press("d") }, func(s *stage) { s.rub(10); s.write("next week") },
			"ETA", "next week", func(s *stage) { s.rub(9); s.write("2027-02-01") }},
		{"a delivery that is not there", func(s *stage) { s.press("d", "Up") }, func(s *stage) {
			s.write("0")
			s.press("Down", "PgDn")
		}, "delivery", "the code of a delivery", func(s *stage) { s.rub(1) }},
		{"a blank ticket", func(s *stage) { s.press("c") }, func(*stage) {}, "ticket", "the ticket is blank", func(s *stage) {
			s.write("T-1")
			s.press("Tab", "PgDn", "Tab", "Tab", "Tab", "Tab", "Tab", "Tab", "Tab")
			s.write("21000")
		}},
	} {
		t.Run(x.name, func(t *testing.T) {
			for _, size := range sizes {
				s, d := onRecords(t, size[0], size[1])
				x.open(s)
				x.wrong(s)
				s.press("Ctrl-S")
				s.idle()
				f, open := s.c.modal.(*form)
				if !open || len(d.list) != 0 {
					t.Fatalf("at %v it was recorded:\n%s", size, s.text())
				}
				if f.faulty != x.field || f.fields[f.at].name != x.field {
					t.Errorf("at %v the fault is told at %q with %q in hand, want %q:\n%s", size, f.faulty, f.fields[f.at].name, x.field, s.text())
				}
				if size[0] >= 80 {
					s.has(x.says)
				}
				x.right(s)
				s.press("Ctrl-S")
				s.idle()
				if len(d.list) != 1 {
					t.Errorf("at %v, put right:\n%s", size, s.text())
				}
			}
		})
	}
}

// rub takes letters off the end of the field in hand.
func (s *stage) rub(n int) {
	for range n {
		s.run(func() { s.c.key(backspace) })
	}
}

// TestRecordsOfTheDraft: with edits in the draft nothing is recorded, and what was typed stays.
func TestRecordsOfTheDraft(t *testing.T) {
	s, d := onRecords(t, 80, 24)
	s.press("2", "p", "Enter")
	s.idle()
	s.press("6")
	s.atLot("A-2207")
	s.press("t")
	s.write("1")
	s.press("Ctrl-S")
	s.has("release or drop it first")
	if len(d.arrived) != 0 || s.c.modal == nil {
		t.Error("it was recorded, or the form is gone")
	}
}

// TestFormsRemember: earlier ETAs and results stand in the form, and what was used last is its default.
func TestFormsRemember(t *testing.T) {
	s, d := onRecords(t, 80, 24)
	s.at("receipts", "D-101")
	for range 2 {
		s.press("d", "PgDn", "PgDn", "Tab", "Tab", "Tab")
		s.write("storm")
		s.press("Ctrl-S")
		s.idle()
		if key, want := s.c.views[5].grids["entries"].key, fmt.Sprint(len(d.list)); key != want {
			t.Errorf("entry %s is selected, want the last, %s", key, want)
		}
	}
	s.press("d")
	s.idle()
	s.has("7 Jan → 9 Jan (told 5 Jan: storm)")
	s.press("Esc")
	s.atLot("A-2207")
	s.press("t", "Tab")
	s.write("38")
	s.press("Ctrl-S")
	s.idle()
	s.press("t")
	s.idle()
	s.has("last HBCDD 38 mg/kg")
	s.press("Esc")
	for _, k := range []string{"PgUp", ""} { // CRU is picked once, and stands there afterwards
		s.press("p", "Up", "Up")
		if k != "" {
			s.press(k)
		}
		s.press("Down", "Down")
		s.write("100")
		s.press("Ctrl-S")
		s.idle()
		if e := s.c.need.Recorder.(*diary).last(); e.Fields["step"] != "CRU" || e.Fields["grade"] != "" {
			t.Errorf("recorded %v", e.Fields)
		}
	}
}

// TestUSForms: labels, defaults and bare numbers are in the plant's units.
func TestUSForms(t *testing.T) {
	in := plant()
	in.Plant.Units = quantity.US
	n, d := needs(newShelf(in), &sums{}, map[string]string{}), &diary{in: in}
	n.Recorder = d
	s := perform(t, setting{needs: &n, first: "records"})
	s.atLot("A-2211")
	s.press("p")
	s.has("Taken lb")
	s.has("in the book 50 265")
	s.write("1000")
	s.press("Down", "Down", "Down", "Down")
	s.write("950")
	s.press("Ctrl-S")
	s.idle()
	r, ok := d.list[0].Record.(records.Process)
	if !ok || records.Grams(r.Lots[0].Mass) != 453592 || records.Grams(r.Out) != 430913 { // 0.45359237 kg a pound, NIST SP 811
		t.Errorf("%d g in, %d g out, want 453592 and 430913", records.Grams(r.Lots[0].Mass), records.Grams(r.Out))
	}
	s.at("shipments", "O-4101")
	s.press("s")
	s.has("Length ft 5 905.512")
	s.press("Ctrl-S")
	s.idle()
	if len(d.list) < 2 {
		t.Fatalf("the shipment is refused:\n%s", s.text())
	}
	if r := d.list[1].Record.(records.Shipment); records.Millis(r.Length) != 1800000 {
		t.Errorf("%d mm shipped, want the 1 800 m that are open", records.Millis(r.Length))
	}
}

// TestFormFrames holds the forms at every size against their stored frames.
func TestFormFrames(t *testing.T) {
	for _, size := range sizes {
		for key, name := range map[string]string{"p": "process", "t": "test", "s": "shipment", "d": "eta", "c": "load", "n": "run"} {
			s, _ := onRecords(t, size[0], size[1])
			s.press(key)
			s.idle()
			golden(t, fmt.Sprintf("form-%s-%dx%d.txt", name, size[0], size[1]), s.text())
		}
		s, _ := onRecords(t, size[0], size[1])
		s.atLot("A-2211")
		s.press("p")
		s.write("1000")
		s.press("Down", "Down", "Down", "Down")
		s.write("1100")
		s.press("Ctrl-S")
		golden(t, fmt.Sprintf("form-refused-%dx%d.txt", size[0], size[1]), s.text())
	}
}
