package draw

// groundCodes lists each material used once, in the order of the vocabulary.
func (o *Options) groundCodes(columns []ColumnData) []string {
	met := map[string]bool{}
	var codes []string
	for i := range columns {
		for _, s := range columns[i].Strata {
			if !met[s.Code] {
				met[s.Code] = true
				codes = append(codes, s.Code)
			}
		}
	}
	return o.patterns().PatternCodes(codes)
}

// patterns are those of the office's vocabulary where it has its own.
func (o *Options) patterns() *Patterns {
	if o.Patterns != nil {
		return o.Patterns
	}
	return defaultPatterns()
}

// paint is how the ground of a log is drawn onto s.
func (o *Options) paint(s *SVG) func(code string, box rect, title string) {
	return func(code string, box rect, title string) { o.patterns().paint(s, code, box, o.Theme, title) }
}
