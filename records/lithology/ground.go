package lithology

import "tallybook/records"

// Ground is what a stratum of a record is: by its material code where one was
// recorded that the vocabulary knows, else by reading its description. The
// class of a described stratum is the reading's, which may differ from the
// material's own (boulders 'of granite' are loose ground). It makes a
// Vocabulary a records.Reader.
func (v *Vocabulary) Ground(s *records.Stratum) records.Ground {
	if s.Material != "" {
		if m, ok := v.Material(s.Material); ok {
			return v.ground(m.Code, m.Class)
		}
	}
	r := v.Read(s.Description)
	return v.ground(r.Material, r.Class)
}

func (v *Vocabulary) ground(code string, class records.Class) records.Ground {
	i, ok := v.Index(code)
	if !ok {
		i = 0
	}
	return records.Ground{Material: code, Class: class, Index: uint8(i)}
}
