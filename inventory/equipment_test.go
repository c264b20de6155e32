package inventory

import (
	"testing"

	"feedline/inventory/quantity"
)

func equipment(t *testing.T, m Mode) Equipment {
	t.Helper()
	e, ok := EquipmentOf(m)
	if !ok {
		t.Fatalf("no equipment for %q", m)
	}
	return e
}

// Payload ÷ volume of the figures in the table, from carriers' and container guides.
func TestBreakEvenDensity(t *testing.T) {
	for mode, want := range map[Mode]float64{Container: 347.8, Container20: 848.8, Van: 184.8, Trailer: 282.4} {
		near(t, string(mode), float64(equipment(t, mode).BreakEven()), want, 0.05, "kg/m³")
	}
	hc := equipment(t, Container)
	near(t, "40 ft on US roads", float64(hc.USRoad)/float64(hc.Volume), 261.6, 0.05, "kg/m³")
	near(t, "40 ft on US roads", hc.USRoad.Pounds(), 44000, 1, "lb")
	near(t, "20 ft on US roads", equipment(t, Container20).USRoad.Pounds(), 38000, 2, "lb")
}

// A 40 ft high cube takes 76.3 m³ or 26 540 kg: cold-pressed foam at 320 kg/m³ fills it, at 400 kg/m³ loads it.
func TestFullLoad(t *testing.T) {
	e := equipment(t, Container)
	if m, byWeight := e.FullLoad(320); byWeight {
		t.Errorf("320 kg/m³: %v kg by weight, want by volume", float64(m))
	} else {
		near(t, "320 kg/m³", float64(m), 24416, 0.5, "kg")
	}
	if m, byWeight := e.FullLoad(400); !byWeight || m != 26540 {
		t.Errorf("400 kg/m³: %v kg, by weight %v; want 26540 kg by weight", float64(m), byWeight)
	}
}

// Loose EPS in a 53 ft trailer weighs 1 500 to 2 000 lb (a recycler's page, foamequipment.com 41641); at 16 kg/m³ it is full with 1 767 kg.
func TestLooseFoamLoad(t *testing.T) {
	e := equipment(t, Van)
	m, byWeight := e.FullLoad(16)
	if byWeight {
		t.Error("loose foam is bounded by weight")
	}
	near(t, "full at 16 kg/m³", float64(m), 1767, 0.5, "kg")
	for _, kg := range []quantity.Mass{680, 907, 1766} {
		if list := e.CheckLoad("Load", kg, 0, 16); len(list) != 0 {
			t.Errorf("%v kg of loose foam: %v, want no problem", float64(kg), list)
		}
	}
	if list := e.CheckLoad("Load", 1768, 0, 16); len(list) != 1 || !list[0].Warning {
		t.Errorf("1768 kg of loose foam: %v, want a warning", list)
	}
}

// A truckload of densified foam is about 40 000 lb, loose about 1 000 lb in the same volume, so 40 : 1; a 40 lb hot-melt
// ingot is some 8 000 foam cups. Common practice, no published source.
func TestDensifiedFoam(t *testing.T) {
	e := equipment(t, Van)
	loose := quantity.Density(float64(quantity.Pounds(1000)) / float64(e.Volume))
	near(t, "loose", float64(loose), 4.1, 0.1, "kg/m³")
	densified := loose * 40
	m, byWeight := e.FullLoad(densified)
	near(t, "densified truckload", m.Pounds(), 40000, 1e-6, "lb")
	if byWeight || len(e.CheckLoad("Load", quantity.Pounds(40000), 0, 320)) != 0 {
		t.Error("a densified truckload of 40 000 lb is refused")
	}
	cup := quantity.Pounds(40) / 8000
	near(t, "a foam cup", float64(cup)*1000, 2.27, 0.01, "g")
	if ingot := (Material{Code: "I", Form: Ingot, Source: PostConsumer, Polymer: "EPS", BulkDensity: 650}).Check(); len(ingot) != 0 {
		t.Errorf("ingot: %v", ingot)
	}
}

func TestCheckLoadRefuses(t *testing.T) {
	e := equipment(t, Container20)
	for _, c := range []struct {
		name    string
		net     quantity.Mass
		filled  quantity.Volume
		warning bool
	}{
		{"beyond the payload", 28200, 0, false},
		{"nothing", 0, 0, false},
		{"negative", -5, 0, false},
		{"denser than solid", 12000, 11, false}, // 1 091 kg/m³
		{"beyond US roads", 20000, 20, true},
	} {
		list := e.CheckLoad("Load", c.net, c.filled, 0)
		if len(list) != 1 || list[0].Warning != c.warning || list[0].Field != "Load" {
			t.Errorf("%s: %v, want one problem (warning %v)", c.name, list, c.warning)
		}
	}
	if list := e.CheckLoad("Load", 12000, 11.5, 0); len(list) != 0 { // 1 043 kg/m³
		t.Errorf("as dense as solid: %v", list)
	}
}

func TestCheckLane(t *testing.T) {
	l := Lane{Code: "N", Material: "B", Mode: Trailer, Load: 24000, LeadTime: LeadTime{Fixed, 5, 0}}
	if list := l.Check(); len(list) != 0 {
		t.Errorf("good lane: %v", list)
	}
	if list := CheckLane(l, Material{BulkDensity: 300}); len(list) != 0 {
		t.Errorf("24 t at 300 kg/m³: %v, want it to fit 85 m³", list)
	}
	if list := CheckLane(l, Material{BulkDensity: 250}); len(list) != 1 || !list[0].Warning {
		t.Errorf("24 t at 250 kg/m³: %v, want a warning", list)
	}
	l.Load = 40000
	if list := CheckLane(l, Material{BulkDensity: 250}); len(list) != 0 {
		t.Errorf("said twice: %v", list)
	}
}
