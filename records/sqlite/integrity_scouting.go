package sqlite

import (
	"bytes"
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
	return c.sightings(ctx)
}

// sightings holds the layer of sightings against their documents.
func (c *integrity) sightings(ctx context.Context) error {
	const mend = "write the sighting again: change anything in it and save"
	found := 0
	return each(ctx, c.view, "SELECT s.id, d.doc, s.changed_commit, "+sightingColumns+" FROM sightings s JOIN sighting_docs d ON d.id = s.id ORDER BY s.id", nil, func(rows *sql.Rows) error {
		const head = 3
		values, err := scanValues(rows, head+len(sightingValues(&records.Sighting{})))
		if err != nil || found >= mostFaults {
			return err
		}
		var doc bytes.Buffer
		fmt.Fprintf(&doc, "%s", values[1])
		var s records.Sighting
		if faults := s.ParseSighting(doc.Bytes()); records.Refuses(faults) {
			found++
			c.add("sightings", fmt.Sprintf("sighting %v cannot be read in full: %v", values[0], records.FaultError(faults)), mend)
			return nil
		}
		want := make([]driver.Value, 0, len(values)-head)
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
