package plates

import "tallybook/records"

// What the tests look at from outside.

func NumberKey(s string) string { return string(numberKey(s, make([]byte, 0, maxNumber))) }

func CompareNumbers(a, b string) string {
	return levelName(fieldNumber, compareNumbers([]byte(NumberKey(a)), []byte(NumberKey(b))))
}

func Variants(key string) map[string]bool {
	out := map[string]bool{}
	eachVariant([]byte(key), func(v []byte) { out[string(v)] = true })
	return out
}

func CompareDates(a, b records.Date) string {
	return levelName(fieldDate, compareDays(dayOf(a), dayOf(b)))
}

func CompareDepths(a, b records.DigestValue) string {
	return levelName(fieldDepth, compareLengths(a, b, depthTolerance))
}

func CompareYields(a, b records.DigestValue) string {
	return levelName(fieldYield, compareYields(a, b))
}

func CompareDiameters(a, b float64) string {
	v := func(x float64) records.DigestValue { return records.DigestValue{Value: x, Qualifier: records.Exact} }
	return levelName(fieldDiameter, compareDiameters(v(a), v(b)))
}

func CompareNames(a, b string) string {
	return levelName(fieldDriller, compareNames(nameParts(a), nameParts(b)))
}

func ComparePlaces(lonA, latA, accA, lonB, latB, accB float64) string {
	l, _, _ := compareSpots([]spot{{lonA, latA, accA}}, []spot{{lonB, latB, accB}})
	return levelName(fieldPlace, l)
}

func levelName(field, level int) string {
	if level == missing {
		return Missing
	}
	return fieldsOf()[field].Levels[level]
}
