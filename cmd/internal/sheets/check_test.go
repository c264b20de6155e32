package sheets

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/demo"
)

// TestAllIsToldAtOnce imports sheets that have cells that can't be read beside codes that no table has: both are told, and nothing that only follows from
// a cell that could not be read.
func TestAllIsToldAtOnce(t *testing.T) {
	const badLength = `orders.csv, row 2, column D (length [m]): "many" is not a number; write a number such as 12.5`
	for _, c := range []struct {
		name  string
		files map[string]string
		want  []string
	}{
		{"another row's code", map[string]string{"orders.csv": orderHead + "A,B,SK80,many,2027-02-01,1,\nC,B,SK81,500,2027-02-01,1,\n"},
			[]string{badLength, `orders.csv, row 3, column C (profile): "SK81" is wrong; allowed: the code of a profile in profiles; did you mean "SK80"?`}},
		{"the same row's code", map[string]string{"orders.csv": orderHead + "A,B,SK81,many,2027-02-01,1,\n"},
			[]string{badLength, `orders.csv, row 2, column C (profile): "SK81" is wrong; allowed: the code of a profile in profiles; did you mean "SK80"?`}},
		{"a code that is blank, beside one that is not there", map[string]string{"lanes.csv": laneHead + "X,NOBODY,,trailer,18000,1,9\n"},
			[]string{`lanes.csv, row 2, column C (material): is blank; fill it in, such as WHITE-INGOT`,
				`lanes.csv, row 2, column B (supplier): "NOBODY" is wrong; allowed: the code of a supplier in suppliers; there are: OSTERWICK, VANDEMERE, SUNDAPORT, KELLSTEIN, BOREVALL`}},
		{"a row by itself, another sheet", map[string]string{"orders.csv": orderHead + "A,B,SK80,many,2027-02-01,1,\n", "forecast.csv": "profile,first day,last day,length [m]\nSK80,2027-03-01,2027-02-01,500\n"},
			[]string{badLength, `forecast.csv, row 2, column C (last day): "2027-02-01" is wrong; allowed: 2027-03-01, the first day, or later`}},
		{"a row by itself in which a cell can't be read says nothing", map[string]string{"forecast.csv": "profile,first day,last day,length [m]\nSK80,soon,2027-02-01,500\n"},
			[]string{`forecast.csv, row 2, column B (first day): "soon" is not a date of the form YYYY-MM-DD; write a day such as 2027-03-31`}},
		{"a code whose row has a bad cell is there", map[string]string{"orders.csv": orderHead + "A,B,NEW1,500,2027-02-01,1,\n", "profiles.csv": "code,name,grade,mass per metre [kg/m],die family,dies,price [/m]\nNEW1,New,WH,light,SK,1,2\n"},
			[]string{`profiles.csv, row 2, column D (mass per metre [kg/m]): "light" is not a number; write a number such as 12.5`}},
		{"a code that may be the one that can't be read", map[string]string{"orders.csv": orderHead + "A,B,NEW1,500,2027-02-01,1,\n", "profiles.csv": "code,name,grade,mass per metre [kg/m],die family,dies,price [/m]\n,New,WH,0.5,SK,1,2\n"},
			[]string{`profiles.csv, row 2, column A (code): is blank; fill it in, such as SK80`}},
		{"a code of a sheet that can't be read", map[string]string{"orders.csv": orderHead + "A,B,NEW1,500,2027-02-01,1,\n", "profiles.csv": "code,weight\nNEW1,5\n"},
			[]string{`profiles.csv, row 1, column B: "weight" is no column of profiles; there are: code, name, grade, mass per metre, die family, dies, price, rack volume, stock target`}},
		{"a key twice, once in a row that can't be read", map[string]string{"orders.csv": orderHead + "A,B,SK80,many,2027-02-01,1,\nA,B,SK80,500,2027-02-01,1,\n"},
			[]string{badLength, `orders.csv, row 3: "A" is the key of row 2 too; take one of the two rows out or give it a key of its own`}},
		{"a shifted row", map[string]string{"orders.csv": orderHead + "A,B,,SK81,500,2027-02-01,1,\n"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := badCells(t, c.files)
			if c.name == "a shifted row" {
				if all := strings.Join(got, "\n"); strings.Contains(all, "the code of") {
					t.Errorf("codes are looked for in a row whose cells have been shifted:\n%s", all)
				}
				return
			}
			if d := cmp.Diff(c.want, got); d != "" {
				t.Errorf("want −, got +:\n%s", d)
			}
		})
	}
}

// TestToldAtOnceIsAllThereIs corrects what an import with both kinds of faults tells: nothing else comes to light then.
func TestToldAtOnceIsAllThereIs(t *testing.T) {
	base := demo.Input(start)
	dir := only(t, map[string]string{"orders.csv": orderHead + "A,B,SK81,many,2027-02-01,1,\nC,B,SK80,500,someday,1,\nD,B,SK80,500,2027-02-01,1,\n", "pins.csv": "code,kind,line,profile,first day,last day\nP9,run,L9,SK80,2027-02-01,2027-02-02\n"})
	_, _, err := Read(dir, base, ReadOptions{Today: start})
	var e *Error
	if !errors.As(err, &e) || len(e.Cells) != 4 {
		t.Fatalf("want four cells: two that can't be read, a profile and a line that are not there, got %v", err)
	}
	right := only(t, map[string]string{"orders.csv": orderHead + "A,B,SK80,700,2027-02-01,1,\nC,B,SK80,500,2027-02-03,1,\nD,B,SK80,500,2027-02-01,1,\n", "pins.csv": "code,kind,line,profile,first day,last day\nP9,run,L1,SK80,2027-02-01,2027-02-02\n"})
	if _, _, err := Read(right, base, ReadOptions{Today: start}); err != nil {
		t.Errorf("%s: %v", filepath.Base(right), err)
	}
}
