package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"

	"tallybook/records"
)

// scouting holds what is kept for scouting against its documents.
func (c *integrity) scouting(ctx context.Context) error {
	for _, q := range []string{
		"SELECT 'sighting ' || s.id || ' is in the layer without a text' FROM sightings s WHERE NOT EXISTS (SELECT 1 FROM sighting_docs d WHERE d.id = s.id) LIMIT ?",
		"SELECT 'there is a text of sighting ' || d.id || ', which is not in the layer' FROM sighting_docs d WHERE NOT EXISTS (SELECT 1 FROM sightings s WHERE s.id = d.id) LIMIT ?",
	} {
		if err := c.list(ctx, "references", mendFile, q, mostFaults); err != nil {
			return err
		}
	}
	if err := c.sightings(ctx); err != nil {
		return err
	}
	if err := c.jobs(ctx); err != nil {
		return err
	}
	return c.forecasts(ctx)
}

// jobs holds the columns by which jobs are listed against their documents.
func (c *integrity) jobs(ctx context.Context) error {
	const mend = "write the job again: change anything in it and save"
	found := 0
	return each(ctx, c.view, "SELECT id, doc, uid, "+jobColumns+" FROM jobs ORDER BY id", nil, func(rows *sql.Rows) error {
		const head = 2
		values, err := scanValues(rows, head+1+len(jobValues(&records.Job{})))
		if err != nil || found >= mostFaults {
			return err
		}
		var j records.Job
		if faults := j.ParseJob(textBytes(values[1])); records.Refuses(faults) {
			found++
			c.add("jobs", fmt.Sprintf("job %v cannot be read in full: %v", values[0], records.FaultError(faults)), mend)
			return nil
		}
		want := []driver.Value{j.UID}
		for _, v := range jobValues(&j) {
			want = append(want, v)
		}
		if have := values[head:]; !sameValues(want, have) {
			found++
			c.add("jobs", fmt.Sprintf("job %v: the list says %s, and the text %s", values[0], shown(have), shown(want)), mend)
		}
		return nil
	})
}

// forecasts looks whether every kept forecast can be read.
func (c *integrity) forecasts(ctx context.Context) error {
	found := 0
	return each(ctx, c.view, "SELECT id, doc FROM forecasts ORDER BY id", nil, func(rows *sql.Rows) error {
		var id int64
		var doc []byte
		if err := rows.Scan(&id, &doc); err != nil {
			return err
		}
		var f records.Forecast
		if err := f.ParseDocument(doc); err != nil && found < mostFaults {
			found++
			c.add("forecasts", fmt.Sprintf("forecast %d cannot be read: %v", id, err), mendFile)
		}
		return ctx.Err()
	})
}

// textBytes is a document as it was read from a column.
func textBytes(v driver.Value) []byte {
	switch text := v.(type) {
	case string:
		return []byte(text)
	case []byte:
		return text
	}
	return nil
}

// sightings holds the layer of sightings against their documents.
func (c *integrity) sightings(ctx context.Context) error {
	const mend = "write the sighting again: change anything in it and save"
	found := 0
	return each(ctx, c.view, "SELECT s.id, d.doc, s.uid, "+sightingColumns+" FROM sightings s JOIN sighting_docs d ON d.id = s.id ORDER BY s.id", nil, func(rows *sql.Rows) error {
		const head = 2
		values, err := scanValues(rows, head+1+len(sightingValues(&records.Sighting{})))
		if err != nil || found >= mostFaults {
			return err
		}
		var s records.Sighting
		if faults := s.ParseSighting(textBytes(values[1])); records.Refuses(faults) {
			found++
			c.add("sightings", fmt.Sprintf("sighting %v cannot be read in full: %v", values[0], records.FaultError(faults)), mend)
			return nil
		}
		want := []driver.Value{s.UID}
		for _, v := range sightingValues(&s) {
			want = append(want, v)
		}
		if have := values[head:]; !sameValues(want, have) {
			found++
			c.add("sightings", fmt.Sprintf("sighting %v: the layer says %s, and the text %s", values[0], shown(have), shown(want)), mend)
		}
		return nil
	})
}
