package figuring

import "tallybook/records"

// SteelPipe is one nominal size of steel pipe. A nominal size is neither an
// inside nor an outside diameter.
type SteelPipe struct {
	Nominal string
	Outside records.Diameter
	Wall    records.Diameter // of schedule 40
	Source  Source
}

// Inside is the inside diameter of schedule 40 pipe of this size.
func (p SteelPipe) Inside() records.Diameter { return p.Outside - 2*p.Wall }

// MassPerMetre is the weight of a metre of schedule 40 pipe, kg: the ring of
// steel at 7.85 kg/L, couplings and drive shoe left out (10.69 x (D - t) x t
// pounds a foot, inches). It is for what the truck and the hoist carry.
func (p SteelPipe) MassPerMetre() records.Mass {
	const steelKgPerL = 7.85
	return records.Mass(steelKgPerL * (litresPerMetre(p.Outside) - litresPerMetre(p.Inside())))
}

// SteelPipes lists the sizes that water wells are cased with. Look at the
// mill's sheet before ordering: other walls of the same outside diameter are
// sold, and local rules name the thinnest allowed.
func SteelPipes() []SteelPipe {
	b3610 := Source{"ASME B36.10, welded and seamless wrought steel pipe", Remembered}
	size := func(nominal string, outsideIn, wallIn float64) SteelPipe {
		return SteelPipe{nominal, inches(outsideIn), inches(wallIn), b3610}
	}
	return []SteelPipe{
		size("4 in", 4.500, 0.237),
		size("5 in", 5.563, 0.258),
		size("6 in", 6.625, 0.280),
		size("8 in", 8.625, 0.322),
		size("10 in", 10.750, 0.365),
		size("12 in", 12.750, 0.406),
	}
}

// InsideOf is the inside diameter of a pipe: outside less twice the wall.
func InsideOf(outside, wall records.Diameter) (records.Diameter, error) {
	err := firstOf(someDiameter("outside_mm", "the outside diameter", outside), someDiameter("wall_mm", "the wall", wall))
	if err == nil && 2*wall >= outside {
		err = bad("wall_mm", "the wall fills the pipe: give the wall's thickness in the same unit as the outside diameter")
	}
	if err != nil {
		return 0, err
	}
	return outside - 2*wall, nil
}
