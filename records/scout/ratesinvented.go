package scout

// InventedLabel stands on every table of invented prices.
const InventedLabel = "invented example, not a price"

// inventedTable shows every property of a rate table with round figures that
// nobody charges.
const inventedTable = `{
  "name": "Example table",
  "note": "` + InventedLabel + `",
  "currency": "USD",
  "units": "us",
  "mobilisation_cents": 100000,
  "drilling": [
    {"ground": "soil", "cents_per_ft": 2000},
    {"ground": "transition", "cents_per_ft": 1500},
    {"ground": "rock", "to_ft": 300, "cents_per_ft": 1000},
    {"ground": "rock", "from_ft": 300, "to_ft": 500, "cents_per_ft": 1200},
    {"ground": "rock", "from_ft": 500, "cents_per_ft": 1500}
  ],
  "minimum_ft": 100,
  "casing": [
    {"material": "steel", "diameter_in": 6, "cents_per_ft": 2500},
    {"material": "pvc", "diameter_in": 6, "cents_per_ft": 2000}
  ],
  "drive_shoe_cents": 20000,
  "grout_sack_cents": 3000,
  "grout_sack_yield_gal": 9,
  "grout_sack_water_gal": 5.5,
  "grout_sack_product": "neat cement, 94 lb",
  "hours": [{"name": "yield test", "cents_per_hour": 20000, "hours": 1}],
  "standby_cents_per_hour": 20000,
  "disinfection_cents": 10000,
  "pump_set_cents": 300000,
  "plate_cents": 1000,
  "permit_cents": 10000,
  "sealing_cents": 50000,
  "sealing_cents_per_ft": 300,
  "dry_hole": {"below_gpm": 0.5, "footage_share": 0.75, "words": "A dry hole is charged three quarters of its drilling, and its sealing."},
  "tax": {"name": "sales tax", "share": 0.05, "on": ["casing", "drive_shoe", "grout", "pump_set"]}
}`

// InventedRates is a table for demonstrations: every figure in it is invented
// and round, and its note says so.
func InventedRates() Rates {
	r, _ := ParseRates([]byte(inventedTable)) // a test holds it to have no fault
	return r
}
