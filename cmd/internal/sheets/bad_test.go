package sheets

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedline/cmd/internal/demo"
)

// only writes a folder that has just the given files.
func only(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// badCells imports files into the demonstration plant and returns what is wrong with them, a line each.
func badCells(t *testing.T, files map[string]string) []string {
	t.Helper()
	base := demo.Input(start)
	got, _, err := Read(only(t, files), base, ReadOptions{Today: start})
	var e *Error
	if !errors.As(err, &e) {
		t.Fatalf("error %v (%T), want an *Error", err, err)
	}
	if got != nil {
		t.Errorf("an input was returned beside the error")
	}
	var list []string
	for _, c := range e.Cells {
		list = append(list, c.String())
	}
	return list
}

const (
	orderHead = "code,customer,profile,length [m],due,priority,price [/m]\n"
	laneHead  = "code,supplier,material,mode,load [kg],loads a week,lead time mean [days]\n"
)

// TestBadCells holds the exact words for each kind of mistake.
func TestBadCells(t *testing.T) {
	for _, c := range []struct{ name, file, text, want string }{
		{"decimal comma", "orders.csv", "code;customer;profile;length [m];due\nA;B;SK80;12,5;2027-02-01\n",
			`orders.csv, row 2, column D (length [m]): "12,5" is wrong: decimal comma; write 12.5`},
		{"comma that may be anything", "orders.csv", "code;customer;profile;length [m];due\nA;B;SK80;12,500;2027-02-01\n",
			`orders.csv, row 2, column D (length [m]): "12,500" is wrong: comma that can be a decimal sign or a thousands separator; write 12500 or 12.5`},
		{"point that may be anything", "orders.csv", "code;customer;profile;length [m];due\nA;B;SK80;40.000;2027-02-01\n",
			`orders.csv, row 2, column D (length [m]): "40.000" is wrong: point that can be a decimal sign or a thousands separator; write 40000 or 40.0`},
		{"three decimals", "orders.csv", "code;customer;profile;length [m];due\nA;B;SK80;1.395;2027-02-01\n",
			`orders.csv, row 2, column D (length [m]): "1.395" is wrong: point that can be a decimal sign or a thousands separator; write 1395 or 1.3950`},
		{"German number", "orders.csv", "code;customer;profile;length [m];due\nA;B;SK80;1.234,5;2027-02-01\n",
			`orders.csv, row 2, column D (length [m]): "1.234,5" is wrong: points as thousands separators; write 1234.5`},
		{"unit in the cell", "orders.csv", orderHead + "A,B,SK80,500 m,2027-02-01,1,\n",
			`orders.csv, row 2, column D (length [m]): "500 m" is not a number; write the number alone: its unit belongs in the heading`},
		{"no number", "orders.csv", orderHead + "A,B,SK80,many,2027-02-01,1,\n",
			`orders.csv, row 2, column D (length [m]): "many" is not a number; write a number such as 12.5`},
		{"not a number", "orders.csv", orderHead + "A,B,SK80,NaN,2027-02-01,1,\n",
			`orders.csv, row 2, column D (length [m]): "NaN" is not a number; write a number such as 12.5`},
		{"beyond all range", "orders.csv", orderHead + "A,B,SK80,1e999,2027-02-01,1,\n",
			`orders.csv, row 2, column D (length [m]): "1e999" is wrong: beyond the range of amounts; is the exponent right?`},
		{"absurd", "orders.csv", orderHead + "A,B,SK80,1e12,2027-02-01,1,\n",
			`orders.csv, row 2, column D (length [m]): "1e12" is wrong; allowed: 0 to 1e+09; is the unit in the heading right?`},
		{"negative", "orders.csv", orderHead + "A,B,SK80,-5,2027-02-01,1,\n",
			`orders.csv, row 2, column D (length [m]): "-5" is out of range; allowed: a number, 0 or more`},
		{"not whole", "orders.csv", orderHead + "A,B,SK80,5,2027-02-01,1.5,\n",
			`orders.csv, row 2, column F (priority): "1.5" is not a whole number; allowed: a whole number, 0 to 9`},
		{"out of range", "orders.csv", orderHead + "A,B,SK80,5,2027-02-01,12,\n",
			`orders.csv, row 2, column F (priority): "12" is out of range; allowed: a whole number, 0 to 9`},
		{"percentage without its sign", "recipes.csv", "grade,material,max share\nWH,INW,80\n",
			`recipes.csv, row 2, column C (max share): "80" is wrong: fraction outside of -1 to 1; write 80 % for a percentage`},
		{"blank", "orders.csv", orderHead + "A,B,SK80,,2027-02-01,1,\n",
			`orders.csv, row 2, column D (length [m]): is blank; fill it in, such as 6000`},
		{"German date", "orders.csv", orderHead + "A,B,SK80,5,31.03.2027,1,\n",
			`orders.csv, row 2, column E (due): "31.03.2027" is not a date of the form YYYY-MM-DD; write 2027-03-31`},
		{"ambiguous date", "orders.csv", orderHead + "A,B,SK80,5,03/04/2027,1,\n",
			`orders.csv, row 2, column E (due): "03/04/2027" is not a date of the form YYYY-MM-DD; write 2027-04-03 or 2027-03-04`},
		{"American date", "orders.csv", orderHead + "A,B,SK80,5,\"Mar 31, 2027\",1,\n",
			`orders.csv, row 2, column E (due): "Mar 31, 2027" is not a date of the form YYYY-MM-DD; write 2027-03-31`},
		{"no such day", "orders.csv", orderHead + "A,B,SK80,5,2027-02-30,1,\n",
			`orders.csv, row 2, column E (due): "2027-02-30" is not a date of the form YYYY-MM-DD; write a day such as 2027-03-31`},
		{"slip in the year", "orders.csv", orderHead + "A,B,SK80,5,0227-02-20,1,\n",
			`orders.csv, row 2, column E (due): "0227-02-20" is no day that can be meant; allowed: 1990-01-01 to 2199-12-31`},
		{"time of day", "shifts.csv", "code,weekdays,start,end\nx,mon-fri,6.00,14:00\n",
			`shifts.csv, row 2, column C (start): "6.00" is not a time of day; allowed: HH:MM such as 06:00 or 22:30`},
		{"weekdays", "shifts.csv", "code,weekdays,start,end\nx,Mo-Fr,06:00,14:00\n",
			`shifts.csv, row 2, column B (weekdays): "Mo-Fr" is not a list of weekdays; write days such as mon-fri, or sat sun, or daily`},
		{"moment", "outages.csv", "code,machine,from,to\nx,L1,2027-03-15 6am,2027-03-16\n",
			`outages.csv, row 2, column C (from): "2027-03-15 6am" is not a time of the form YYYY-MM-DD HH:MM; write a time such as 2027-03-31 14:00`},
		{"word", "lines.csv", "code,state\nL1,runing\n",
			`lines.csv, row 2, column B (state): "runing" is not a word that is known here; allowed: running, ready, down, uncommissioned; did you mean "running"?`},
		{"neither yes nor no", "lots.csv", "code,hold\nA-2207,maybe\n",
			`lots.csv, row 2, column B (hold): "maybe" is neither yes nor no; allowed: yes, no`},
		{"code over two lines", "orders.csv", orderHead + "\"A\nB\",B,SK80,5,2027-02-01,1,\n",
			"orders.csv, row 2, column A (code): \"A\\nB\" goes over several lines; write it on one line"},
		{"control character", "orders.csv", orderHead + "A\x07,B,SK80,5,2027-02-01,1,\n",
			`orders.csv, row 2, column A (code): "A\a" holds a character that can't be shown; write it again`},

		{"unknown unit", "orders.csv", "code,length [furlong]\nO-4101,5\n",
			`orders.csv, row 1, column B: "length [furlong]" has a wrong unit: unknown unit "furlong"; allowed: [m], [km], [mm], [ft], [in]`},
		{"unit of something else", "orders.csv", "code,length [kg]\nO-4101,5\n",
			`orders.csv, row 1, column B: "length [kg]" has a wrong unit: "kg" is a unit of mass; allowed: [m], [km], [mm], [ft], [in]`},
		{"ton", "lots.csv", "code,mass [ton]\nA-2207,5\n",
			`lots.csv, row 1, column B: "mass [ton]" has a wrong unit: "ton" can be a tonne or a short ton; allowed: [kg], [t], [g], [lb], [st]; write t for 1000 kg or short ton for 2000 lb`},
		{"no unit", "lots.csv", "code,mass\nA-2207,5\n",
			`lots.csv, row 1, column B: "mass" says no unit; allowed: [kg], [t], [g], [lb], [st]; write the heading as "mass [kg]" if it is in kg`},
		{"unit where none belongs", "orders.csv", "code,due [d]\nO-4101,2027-02-01\n",
			`orders.csv, row 1, column B: "due [d]" has a unit where none belongs; write the heading as "due"`},
		{"other currency", "orders.csv", "code,price [USD/m]\nO-4101,3\n",
			`orders.csv, row 1, column B: "price [USD/m]" has a wrong unit: "USD" is not the currency of this amount; allowed: [/m], [/km], [/ft]; give it in EUR`},
		{"unit outside of the quantities", "lines.csv", "code,screw diameter [cm]\nL1,7.5\n",
			`lines.csv, row 1, column B: "screw diameter [cm]" has a wrong unit; allowed: [mm], [in]`},

		{"unknown column", "orders.csv", "code,custmer\nO-4101,x\n",
			`orders.csv, row 1, column B: "custmer" is no column of orders; did you mean "customer"?`},
		{"unknown column, nothing near", "pins.csv", "code,shoe size\nx,43\n",
			`pins.csv, row 1, column B: "shoe size" is no column of pins; there are: code, kind, line, profile, first day, last day, note`},
		{"column twice", "orders.csv", "code,length [m],length [ft]\nO-4101,1,3\n",
			`orders.csv, row 1, column C: "length [ft]" is there twice: in column B already; take one of the columns out`},
		{"no key", "orders.csv", "customer,length [m]\nx,1\n",
			`orders.csv, row 1: has no column code; rows are told apart by it`},
		{"new row without a needed column", "orders.csv", "code,length [m]\nnew,1\n",
			`orders.csv, row 2: "new" is new and has no profile; add a column with the heading "profile"` + "\n" +
				`orders.csv, row 2: "new" is new and has no due; add a column with the heading "due"`},
		{"duplicate key", "orders.csv", "code,length [m]\nO-4101,1\nO-4102,2\n\nO-4101,3\n",
			`orders.csv, row 5: "O-4101" is the key of row 2 too; take one of the two rows out or give it a key of its own`},
		{"key of two columns twice", "rates.csv", "line,profile,strands\nL1,SK80,1\nL1,SK80,2\n",
			`rates.csv, row 3: "L1 / SK80" is the key of row 2 too; take one of the two rows out or give it a key of its own`},
		{"cell under no heading", "orders.csv", "code,length [m]\nO-4101,1,2\n",
			`orders.csv, row 2, column C: "2" stands under no heading; has a cell been shifted? give the column a heading that begins with # if it is a remark`},
		{"no headings", "orders.csv", "\n# nothing yet\n",
			`orders.csv: has no headings; start from the sheets of feedline template`},
		{"quotation mark", "orders.csv", "code,customer\nO-4101,\"3\" trim\"\n",
			`orders.csv, row 2: has a quotation mark that is not closed or stands within a cell; put a cell that holds quotation marks between quotation marks and write each of them twice, as in "3"" trim"`},
		{"binary", "orders.csv", "PK\x03\x04\x00\x00",
			`orders.csv: is not a text file; save the sheet as CSV, or import the workbook as it is`},
		{"unknown sheet", "oders.csv", "code\n",
			`oders.csv: is named after no table; did you mean "orders"?`},
		{"unknown setting", "plant.csv", "setting,value\ncrews [people],7\n",
			`plant.csv, row 2, column A: "crews [people]" is no setting of plant; did you mean "crew"?`},

		{"code that is not there", "orders.csv", orderHead + "A,B,SK81,5,2027-02-01,1,\n",
			`orders.csv, row 2, column C (profile): "SK81" is wrong; allowed: the code of a profile in profiles; did you mean "SK80"?`},
		{"load beyond the payload", "lanes.csv", laneHead + "X,OSTERWICK,INW,trailer,42000,1,9\n",
			`lanes.csv, row 2, column E (load [kg]): "42000" is wrong; allowed: above 0, up to 24 000 kg, the payload of a 13.6 m curtainsider; check the weight and the mode`},
		{"long past and not late", "deliveries.csv", "code,ordered,ETA\nD-101,2025-11-01,2025-12-01\n",
			`deliveries.csv, row 2, column C (ETA): "2025-12-01" is wrong; allowed: 2027-01-04 or later, unless it is marked late; enter its new ETA, or late = yes, or status = received and a lot`},
		{"zone", "plant.csv", "setting,value\nzone,Europe/Bruxelles\n",
			`plant.csv, row 2, column B (zone): "Europe/Bruxelles" is wrong; allowed: an IANA time zone such as Europe/Berlin or America/Chicago`},
		{"currency", "plant.csv", "setting,value\ncurrency,Euro\n",
			`plant.csv, row 2, column B (currency): "Euro" is wrong; allowed: three capital letters such as EUR or USD (ISO 4217)`},
		{"closure the wrong way round", "closures.csv", "code,first day,last day\nx,2027-05-03,2027-05-01\n",
			`closures.csv, row 2, column C (last day): "2027-05-01" is wrong; allowed: 2027-05-03, the first day, or later`},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := badCells(t, map[string]string{c.file: c.text})
			if s := strings.Join(got, "\n"); s != c.want {
				t.Errorf("got\n%s\nwant\n%s", s, c.want)
			}
		})
	}
}

// What the refusals of a sheet with semicolons propose is read, and three decimals where they can be nothing else.
func TestPointsWithSemicolons(t *testing.T) {
	for text, want := range map[string]float64{"40000": 40000, "40.0": 40, "1.3950": 1.395, "12.5": 12.5, "0.395": 0.395, "1234.567": 1234.567, "40 000": 40000} {
		files := map[string]string{"orders.csv": "code;customer;profile;length [m];due;priority\nA;B;SK80;" + text + ";2027-02-01;1\n"}
		in, _, err := Read(only(t, files), demo.Input(start), ReadOptions{Today: start})
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		for _, o := range in.Orders {
			if o.Code == "A" && float64(o.Length) != want {
				t.Errorf("%q was read as %v m, want %v", text, float64(o.Length), want)
			}
		}
	}
	in, _, err := Read(only(t, map[string]string{"orders.csv": "code,customer,profile,length [m],due,priority\nA,B,SK80,40.000,2027-02-01,1\n"}), demo.Input(start), ReadOptions{Today: start})
	if err != nil || len(in.Orders) == 0 {
		t.Errorf("a sheet with commas: %v", err)
	}
}
