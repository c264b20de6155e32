package quantity

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Factors from NIST SP 811 (2008), Appendix B.8, and its footnotes for the exact pound; the products of exact
// factors are exact too (cubic foot = 0.3048³, US gallon = 231 in³, lb/ft³).
func TestFactors(t *testing.T) {
	for _, c := range []struct {
		symbol string
		want   float64 // stored units
	}{
		{"in", 0.0254}, {"ft", 0.3048}, {"lb", 0.45359237}, {"short ton", 907.18474},
		{"ft3", 0.028316846592}, {"gal", 3.785411784e-3}, {"lb/ft3", 16.01846337396014},
		{"t", 1000}, {"g", 0.001}, {"mm", 0.001}, {"km", 1000}, {"L", 0.001}, {"ft/min", 0.3048},
		{"lb/ft", 0.45359237 / 0.3048}, {"lb/h", 0.45359237}, {"%", 0.01}, {"/lb", 1 / 0.45359237},
	} {
		u, ok := Lookup(c.symbol)
		if !ok {
			t.Errorf("no unit %q", c.symbol)
			continue
		}
		if math.Abs(u.Factor-c.want) > 1e-15*c.want {
			t.Errorf("one %s is %.17g stored units, want %.17g", c.symbol, u.Factor, c.want)
		}
	}
	if got := MetrePerFoot / MetrePerInch; math.Abs(got-12) > 1e-14 {
		t.Errorf("%v in a foot, want 12", got)
	}
	gal, _ := Lookup("gal")
	if want := 231 * math.Pow(MetrePerInch, 3); math.Abs(gal.Factor-want) > 1e-15*want {
		t.Errorf("US gallon %v m³, want 231 in³ = %v m³", gal.Factor, want)
	}
	if got := Pounds(2000).ShortTons(); got != 1 {
		t.Errorf("2000 lb are %v short tons, want 1", got)
	}
}

func TestVolumeAndMassOf(t *testing.T) {
	if got := Density(400).VolumeOf(24000); got != 60 {
		t.Errorf("24 t at 400 kg/m³ fill %v m³, want 60 m³", float64(got))
	}
	if got := Density(0).VolumeOf(24000); got != 0 {
		t.Errorf("at a density that is not known: %v m³, want 0", float64(got))
	}
	if got := LinearDensity(0.25).MassOf(400); got != 100 {
		t.Errorf("400 m at 0.25 kg/m are %v kg, want 100 kg", float64(got))
	}
}

func TestUnitNamesAreUnambiguous(t *testing.T) {
	seen := map[string]string{}
	for _, u := range Units {
		for _, n := range append([]string{u.Symbol}, u.Aliases...) {
			n = strings.ToLower(n)
			if other, ok := seen[n]; ok && n != "" {
				t.Errorf("%q names both %s and %s", n, other, u.Symbol)
			}
			seen[n] = u.Symbol
		}
	}
	for _, n := range []string{"ton", "tons", "T", ""} {
		if u, ok := Lookup(n); ok {
			t.Errorf("%q is read as %s, want it refused", n, u.Symbol)
		}
	}
}

func TestParseMass(t *testing.T) {
	for _, c := range []struct {
		text string
		sys  System
		want float64 // kg
	}{
		{"12.5 t", Metric, 12500}, {"12.5t", US, 12500}, {"900", Metric, 900}, {"900", US, 900 * KgPerPound},
		{" 1 200 kg ", Metric, 1200}, {"1\u202f200\u00a0kg", Metric, 1200}, {"1,234,567 kg", Metric, 1234567},
		{"1,234.50 kg", Metric, 1234.5}, {"2 short tons", US, 2 * KgPerShortTon}, {"2 ST", Metric, 2 * KgPerShortTon},
		{"1.2e3", Metric, 1200}, {"1E-3 t", Metric, 1}, {"-5 kg", Metric, -5}, {"\u22125 kg", Metric, -5}, {".5 kg", Metric, 0.5},
		{"5. kg", Metric, 5}, {"250 g", Metric, 0.25}, {"40,000.0 lb", US, 40000 * KgPerPound}, {"1 LBS", US, KgPerPound},
		{"0", Metric, 0}, {"1e-400 kg", Metric, 0},
	} {
		got, err := ParseMass(c.text, c.sys)
		if err != nil || math.Abs(float64(got)-c.want) > 1e-15*math.Abs(c.want) {
			t.Errorf("ParseMass(%q) = %v kg, %v; want %v kg", c.text, float64(got), err, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"12,5 t", `mass "12,5 t": decimal comma; write 12.5 t`},
		{"12,500", `mass "12,500": comma that can be a decimal sign or a thousands separator; write 12500 or 12.500`},
		{"1.234,5 kg", `mass "1.234,5 kg": points as thousands separators; write 1234.5 kg`},
		{"1.234.567", `mass "1.234.567": points as thousands separators; write 1234567`},
		{"1,23,456", `mass "1,23,456": commas that are not between groups of three digits; group thousands by threes or not at all`},
		{"0,123", `mass "0,123": decimal comma; write 0.123`},
		{"12 5 kg", `mass "12 5 kg": space within the number; group thousands by threes or not at all`},
		{"12'500", `mass "12'500": separator that is not understood; group thousands by spaces or not at all`},
		{"5 ton", `mass "5 ton": "ton" can be a tonne or a short ton; allowed: kg, t, g, lb, st; write t for 1000 kg or short ton for 2000 lb`},
		{"5 T", `mass "5 T": "T" can be a tonne or a short ton; allowed: kg, t, g, lb, st; write t for 1000 kg or short ton for 2000 lb`},
		{"5 m", `mass "5 m": "m" is a unit of length; allowed: kg, t, g, lb, st`},
		{"5 stone", `mass "5 stone": unknown unit "stone"; allowed: kg, t, g, lb, st`},
		{"", `mass "": empty; write a number such as 12.5`},
		{"NaN", `mass "NaN": not a number; write a number such as 12.5`},
		{"Inf", `mass "Inf": not a number; write a number such as 12.5`},
		{"-inf kg", `mass "-inf kg": not a number; write a number such as 12.5`},
		{"0x10", `mass "0x10": unknown unit "x10"; allowed: kg, t, g, lb, st`},
		{"1e40", `mass "1e40": beyond the range of amounts; is the exponent right?`},
		{"1e999999999", `mass "1e999999999": beyond the range of amounts; is the exponent right?`},
		{"--5", `mass "--5": not a number; write a number such as 12.5`},
		{"5 kg 3", `mass "5 kg 3": unknown unit "kg 3"; allowed: kg, t, g, lb, st`},
	} {
		got, err := ParseMass(c.text, Metric)
		if err == nil || err.Error() != c.want {
			t.Errorf("ParseMass(%q) = %v kg, error\n  %v; want\n  %v", c.text, float64(got), err, c.want)
		}
	}
}

func TestParseOthers(t *testing.T) {
	near := func(name string, got, want float64, err error) {
		t.Helper()
		if err != nil || math.Abs(got-want) > 1e-14*math.Abs(want) {
			t.Errorf("%s: %v, %v; want %v", name, got, err, want)
		}
	}
	l, err := ParseLength("16 ft", Metric)
	near("length, m", float64(l), 4.8768, err)
	v, err := ParseVolume("3900 cu ft", US)
	near("volume, m³", float64(v), 3900*M3PerFoot3, err)
	h, err := ParseHours("90 min")
	near("hours", float64(h), 1.5, err)
	r, err := ParseMassRate("350", US)
	near("mass rate, kg/h", float64(r), 350*KgPerPound, err)
	s, err := ParseSpeed("20 ft/min", Metric)
	near("speed, m/min", float64(s), 6.096, err)
	d, err := ParseLinearDensity("250 g/m", US)
	near("kg/m", float64(d), 0.25, err)
	q, err := ParseDensity("1.05 g/cm³", Metric)
	near("kg/m³", float64(q), 1050, err)
	m, err := ParseMoney("1 200.50 EUR", "EUR")
	near("money", float64(m), 1200.5, err)
	p, err := ParseMassPrice("850 EUR/t", Metric, "EUR")
	near("price a kg", float64(p), 0.85, err)
	p, err = ParseMassPrice("0.40", US, "USD")
	near("price a kg from bare per lb", float64(p), 0.40/KgPerPound, err)
	lp, err := ParseLengthPrice("1.50 /ft", Metric, "USD")
	near("price a metre", float64(lp), 1.5/MetrePerFoot, err)
	hp, err := ParseHourPrice("35 eur / h", "EUR")
	near("price an hour", float64(hp), 35, err)
	sh, err := ParseShare("85 %")
	near("share", float64(sh), 0.85, err)
	sh, err = ParseShare("150 %")
	near("share above one", float64(sh), 1.5, err)
	for _, c := range []struct {
		err  error
		want string
	}{
		{second(ParseShare("85")), `share "85": fraction outside of -1 to 1; write 85 % for a percentage`},
		{second(ParseMassPrice("0.85 USD/kg", Metric, "EUR")), `price per mass "0.85 USD/kg": "USD" is not the currency of this amount; give it in EUR`},
		{second(ParseMoney("5 kg", "EUR")), `money "5 kg": "kg" is not the currency of this amount; give it in EUR`},
		{second(ParseMassPrice("1 /ton", US, "USD")), `price per mass "1 /ton": "/ton" can be a tonne or a short ton; allowed: /lb, /st, /kg, /t; write t for 1000 kg or short ton for 2000 lb`},
		{second(ParseMassPrice("1 EUR/m", Metric, "EUR")), `price per mass "1 EUR/m": "/m" is a unit of price per length; allowed: /kg, /t, /lb, /st`},
	} {
		if c.err == nil || c.err.Error() != c.want {
			t.Errorf("error %v\n  want %v", c.err, c.want)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func TestFormat(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Mass(12345.678).Format(Metric, 1), "12 345.7 kg"},
		{Mass(12345.678).FormatTons(Metric, 2), "12.35 t"},
		{Pounds(40000).Format(US, 0), "40 000 lb"},
		{Pounds(40000).FormatTons(US, 1), "20.0 st"},
		{Length(-0.0001).Format(Metric, 0), "0 m"},
		{Length(-1234).Format(Metric, 0), "-1 234 m"},
		{Feet(55000).Format(US, 0), "55 000 ft"},
		{Share(0.8549).Format(1), "85.5 %"},
		{Money(1e6).Format("EUR", 2), "1 000 000.00 EUR"},
		{MassPrice(0.85).Format("EUR", Metric, 2), "0.85 EUR/kg"},
		{MassPrice(0.40/KgPerPound).Format("USD", US, 2), "0.40 USD/lb"},
		{Hours(1.5).Format(1), "1.5 h"},
		{Speed(6.096).Format(US, 0), "20 ft/min"},
		{Grouped(math.Inf(1), 1), "+Inf"},
		{Grouped(999.96, 1), "1 000.0"},
	} {
		if c.got != c.want {
			t.Errorf("printed %q, want %q", c.got, c.want)
		}
	}
}

// What is written for a stored value reads back as the very same value, in every unit of every kind.
func TestTextReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(Units).Draw(t, "unit")
		v := rapid.OneOf(
			rapid.Float64Range(-1e9, 1e9),
			rapid.Map(rapid.IntRange(0, 1_000_000), func(n int) float64 { return float64(n) / 100 }),
			rapid.Float64Range(0, 1e-9),
		).Draw(t, "stored")
		text := u.Text(v)
		if u.Kind == KindShare && u.Symbol == "" && math.Abs(v) > 1 {
			return // bare fractions beyond one are refused: ParseShare
		}
		got, err := parse[float64](text, u.Kind, Metric, "")
		if err != nil {
			t.Fatalf("%v %s is written %q: %v", v, u.Symbol, text, err)
		}
		if got != v {
			t.Fatalf("%v stored, written %q, read %v", v, text, got)
		}
	})
}

// A number that a person enters with up to 12 digits is written back as entered.
func TestEnteredNumbersSurvive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(Units).Draw(t, "unit")
		n := rapid.Int64Range(0, 999_999_999_999).Draw(t, "digits")
		entered := plain(formatE(n, rapid.IntRange(-6, 3).Draw(t, "exponent")))
		v, perr := u.read(entered)
		if perr != nil {
			t.Fatal(perr)
		}
		if got := u.Number(v); got != entered {
			t.Fatalf("entered %s %s, written back %s", entered, u.Symbol, got)
		}
	})
}

func TestGroupedReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := math.Trunc(rapid.Float64Range(-1e12, 1e12).Draw(t, "x"))
		got, err := ParseMass(Grouped(x, 2)+" kg", Metric)
		if err != nil || float64(got) != x {
			t.Fatalf("%v printed %q, read %v, %v", x, Grouped(x, 2), float64(got), err)
		}
	})
}

func FuzzParseMass(f *testing.F) {
	for _, s := range []string{"12.5 t", "1,2", "1 000", "5 ton", "e", "1e", "1.2.3", "−4 lb", "1e-999999999999999999999", "1_0"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		m, err := ParseMass(s, US)
		if err != nil {
			return
		}
		if math.IsNaN(float64(m)) || math.IsInf(float64(m), 0) {
			t.Fatalf("%q read as %v kg", s, float64(m))
		}
		u := DefaultUnit(KindMass, Metric)
		if again, err := ParseMass(u.Text(float64(m)), Metric); err != nil || again != m {
			t.Fatalf("%q read as %v, then %v, %v", s, float64(m), float64(again), err)
		}
	})
}

// formatE is n × 10^exponent in e-notation, all digits.
func formatE(n int64, exponent int) string {
	s := fmt.Sprintf("%d", n)
	return fmt.Sprintf("%s.%se%d", s[:1], s[1:], len(s)-1+exponent)
}

func TestChecks(t *testing.T) {
	var c Checks
	c.Named("Code", " ")
	c.OneOf("Form", "brick", "ingot", "block")
	c.Within("Share", math.NaN(), 0, 1, "")
	c.Within("Share", 0.5, 0, 1, "")
	c.Within("Far", math.Inf(1), 0, math.Inf(1), "kg")
	c.NotNegative("Mass", -1, "kg")
	c.Positive("Rate", 0, "kg/h")
	c.Fraction("Yield", 1.2)
	c.Usual("Density", 1200, 450, 1050, "kg/m³", "is it weighed wet?")
	c.Usual("Density", 500, 450, 1050, "kg/m³", "")
	want := []string{
		`Code " ": allowed anything but blank; give it a code of its own`,
		`Form "brick": allowed ingot, block`,
		`Share NaN: allowed 0 to 1`,
		`Far +Inf kg: allowed 0 kg or more`,
		`Mass -1 kg: allowed 0 kg or more`,
		`Rate 0 kg/h: allowed more than 0 kg/h`,
		`Yield 1.2: allowed 0 to 1`,
		`Density 1200 kg/m³: allowed as a rule 450 to 1050 kg/m³; is it weighed wet?`,
	}
	got := c.Problems()
	if len(got) != len(want) || Faults(got) != len(want)-1 {
		t.Fatalf("%d problems, %d faults: %v", len(got), Faults(got), got)
	}
	for i, w := range want {
		if got[i].String() != w {
			t.Errorf("problem %q, want %q", got[i], w)
		}
	}
}

// A problem of a record as a whole has no field to name.
func TestProblemWithoutField(t *testing.T) {
	for want, p := range map[string]Problem{
		`"o-3": allowed each key once; take one out`: {Value: `"o-3"`, Allowed: "each key once", Remedy: "take one out"},
		"Yield 1.2: allowed 0 to 1":                  {Field: "Yield", Value: "1.2", Allowed: "0 to 1"},
	} {
		if got := p.String(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
