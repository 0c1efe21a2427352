package importer

// CutOnly cuts a source into rows without decoding them, for benchmarks.
func (s *Source) CutOnly() (int, error) {
	n := 0
	for {
		b, err := s.nextBatch()
		n += len(b.rows)
		if err != nil {
			return n, err
		}
	}
}

// SerialText is what a workbook's number says under a format's code.
func SerialText(v float64, code string, since04 bool) string {
	from := since1900
	if since04 {
		from = since1904
	}
	return styleOf(0, code).written(v, from)
}
