package recordstest

import "tallybook/records"

// FullJob is a job with something in every field, and no fault.
func FullJob() *records.Job {
	day := func(month, day int) records.Date { return records.Date{Year: 2026, Month: month, Day: day} }
	return &records.Job{
		UID:   "0190a1b2-c3d4-7e5f-8a6b-00000000001f",
		Stage: records.JobFiled, Label: "upper pasture",
		Located: true, Lon: -72.5125, Lat: 44.2575, Given: "44 15 27 N 72 30 45 W", Datum: "WGS 84", Method: "map",
		Accuracy: Metres[records.Length]("10"), Parcel: "12-3", AccessNotes: "by the lower gate",
		Customer:    records.Person{Name: "Invented Customer", Address: "4 Nowhere Road", Telephone: "000"},
		ForecastUID: "0190a1b2-c3d4-7e5f-8a6b-00000000000f",
		Quote:       records.Quote{LowCents: 900_000, MidCents: 1_250_000, HighCents: 2_100_000, Currency: "USD", ValidUntil: day(6, 30)},
		Steps: []records.JobStep{
			{Stage: records.JobScouted, Due: day(1, 10), Done: day(1, 9), Note: "soft ground"},
			{Stage: records.JobQuoted, Due: day(1, 15), Done: day(1, 15)},
			{Stage: records.JobDrilling, Due: day(2, 1), Done: day(2, 3)},
			{Stage: records.JobFinished, Done: day(2, 4)},
			{Stage: records.JobFiled, Due: day(3, 1), Done: day(2, 20)},
		},
		WellUID: Plain().UID, ActualCents: 1_310_050,
		Filing: records.Filing{Authority: "Invented Water Board", Reference: "F-9", Due: day(3, 4), Sent: day(2, 20), Accepted: day(2, 27)},
		Notes:  "gate code changed",
	}
}
