package sqlite

import "context"

// intakes looks whether what is kept of intakes belongs to one.
func (c *integrity) intakes(ctx context.Context) error {
	for _, q := range []string{
		"SELECT 'there is a row report of intake ' || r.batch_id || ', which is not there' FROM intake_reports r WHERE NOT EXISTS (SELECT 1 FROM batches b WHERE b.id = r.batch_id) LIMIT ?",
		"SELECT 'what intake ' || i.batch_id || ' says of record ' || i.well_id || ' is kept, and the intake is not there' FROM intake_changes i WHERE NOT EXISTS (SELECT 1 FROM batches b WHERE b.id = i.batch_id) LIMIT ?",
		"SELECT 'intake ' || i.batch_id || ' wrote revision ' || i.wrote || ' of record ' || w.id || ', which is at ' || w.revision FROM intake_changes i JOIN wells w ON w.id = i.well_id WHERE i.wrote > w.revision LIMIT ?",
		"SELECT 'intake ' || b.id || ' is a later copy of intake ' || b.copy_of || ', which is not there' FROM batches b WHERE b.copy_of IS NOT NULL AND NOT EXISTS (SELECT 1 FROM batches o WHERE o.id = b.copy_of) LIMIT ?",
	} {
		if err := c.list(ctx, "intakes", mendFile, q, mostFaults); err != nil {
			return err
		}
	}
	return nil
}
