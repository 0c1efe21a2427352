package say

// RateUnit names the unit of penetration rate: feet a minute or metres an
// hour.
func RateUnit(s System) string {
	if s == SI {
		return "m/h"
	}
	return "ft/min"
}

// Rate turns a penetration rate in metres a minute into RateUnit.
func Rate(s System, mPerMin float64) float64 {
	if s == SI {
		return mPerMin * 60
	}
	return mPerMin / 0.3048
}
