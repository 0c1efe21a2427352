package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"tallybook/records"
)

// plates looks whether every plate can be read and is found under the number
// that its text says, and whether what was decided of it names what there is.
func (c *integrity) plates(ctx context.Context) error {
	const mend = "write the plate again: change anything in it and save"
	found := 0
	err := each(ctx, c.view, "SELECT id, uid, ifnull(number, ''), doc FROM plates ORDER BY id", nil, func(rows *sql.Rows) error {
		var id int64
		var uid, number string
		var doc []byte
		if err := rows.Scan(&id, &uid, &number, &doc); err != nil || found >= mostFaults {
			return err
		}
		var p records.Plate
		switch faults := p.ParsePlate(doc); {
		case records.Refuses(faults):
			c.add("plates", fmt.Sprintf("plate %d cannot be read in full: %v", id, records.FaultError(faults)), mend)
		case p.UID != uid || p.Number != number:
			c.add("plates", fmt.Sprintf("plate %d is listed as %s, %q and its text says %s, %q", id, uid, number, p.UID, p.Number), mend)
		default:
			return nil
		}
		found++
		return nil
	})
	if err != nil {
		return err
	}
	return c.plateDecisions(ctx)
}

// plateDecisions holds what was decided against the plates and wells that it
// names: there now, or taken out with their last image kept.
func (c *integrity) plateDecisions(ctx context.Context) error {
	for _, q := range []string{
		"SELECT DISTINCT 'a decision names plate ' || d.plate_uid || ', which is not there and never was' FROM plate_decisions d WHERE NOT EXISTS (SELECT 1 FROM plates p WHERE p.uid = d.plate_uid) AND NOT EXISTS (SELECT 1 FROM plate_revisions r WHERE json_extract(r.image, '$.uid') = d.plate_uid) LIMIT ?",
		"SELECT 'plate ' || d.plate_uid || ' was linked to well ' || d.well_uid || ', which is not there and never was' FROM plate_decisions d WHERE d.well_uid IS NOT NULL AND NOT EXISTS (SELECT 1 FROM wells w WHERE w.uid = d.well_uid) AND NOT EXISTS (SELECT 1 FROM removed x WHERE x.uid = d.well_uid) LIMIT ?",
		"SELECT 'the decisions about plate ' || plate_uid || ' have a gap in their numbers' FROM plate_decisions GROUP BY plate_uid HAVING count(*) <> max(revision) + 1 LIMIT ?",
	} {
		if err := c.list(ctx, "plate decisions", mendFile, q, mostFaults); err != nil {
			return err
		}
	}
	found := 0
	return each(ctx, c.view, "SELECT plate_uid, revision, refused, candidates, reasons FROM plate_decisions", nil, func(rows *sql.Rows) error {
		var uid string
		var revision int64
		var refused, candidates, reasons []byte
		if err := rows.Scan(&uid, &revision, &refused, &candidates, &reasons); err != nil || found >= mostFaults {
			return err
		}
		_, err := parseUIDs(refused)
		if err == nil {
			_, err = parseUIDs(candidates)
		}
		if err == nil && len(reasons) > 0 && !json.Valid(reasons) {
			err = fmt.Errorf("its reasons are no JSON")
		}
		if err != nil {
			found++
			c.add("plate decisions", fmt.Sprintf("decision %d about plate %s cannot be read: %v", revision, uid, err), mendFile)
		}
		return nil
	})
}
