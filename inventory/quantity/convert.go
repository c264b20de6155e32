package quantity

// Tonnes is m in tonnes of 1000 kg.
func (m Mass) Tonnes() float64 { return float64(m) / KgPerTonne }

// Pounds is m in avoirdupois pounds.
func (m Mass) Pounds() float64 { return float64(m) / KgPerPound }

// ShortTons is m in short tons of 2000 lb.
func (m Mass) ShortTons() float64 { return float64(m) / KgPerShortTon }

// Feet is l in feet.
func (l Length) Feet() float64 { return float64(l) / MetrePerFoot }

// CubicFeet is v in cubic feet.
func (v Volume) CubicFeet() float64 { return float64(v) / M3PerFoot3 }

// Tonnes is t tonnes.
func Tonnes(t float64) Mass { return Mass(t * KgPerTonne) }

// Pounds is lb pounds.
func Pounds(lb float64) Mass { return Mass(lb * KgPerPound) }

// Feet is ft feet.
func Feet(ft float64) Length { return Length(ft * MetrePerFoot) }

// CubicFeet is ft3 cubic feet.
func CubicFeet(ft3 float64) Volume { return Volume(ft3 * M3PerFoot3) }

// VolumeOf is the volume that m takes up at density d; 0 for a density of 0, which means not known.
func (d Density) VolumeOf(m Mass) Volume {
	if d <= 0 {
		return 0
	}
	return Volume(float64(m) / float64(d))
}

// MassOf is the mass of a length l.
func (d LinearDensity) MassOf(l Length) Mass { return Mass(float64(d) * float64(l)) }
