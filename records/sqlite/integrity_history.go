package sqlite

import "context"

// history holds merges and decisions against the records they speak of.
func (c *integrity) history(ctx context.Context) error {
	for _, q := range []string{
		"SELECT 'merge ' || m.id || ': the record ' || m.uid || ' was merged into another and is there all the same' FROM merges m WHERE m.split_at IS NULL AND EXISTS (SELECT 1 FROM wells w WHERE w.uid = m.uid) LIMIT ?",
		"SELECT 'merge ' || m.id || ': the image of the record that was taken out is not there' FROM merges m WHERE NOT EXISTS (SELECT 1 FROM revisions r WHERE r.well_id = m.well_id AND r.revision = m.revision) LIMIT ?",
		"SELECT 'merge ' || m.id || ': the image ahead of the merge is not there' FROM merges m WHERE m.before <> m.after AND NOT EXISTS (SELECT 1 FROM revisions r WHERE r.well_id = m.into_well_id AND r.revision = m.before) LIMIT ?",
		"SELECT 'merge ' || m.id || ': the record that was kept, ' || m.into_uid || ', was never there' FROM merges m WHERE NOT EXISTS (SELECT 1 FROM wells w WHERE w.uid = m.into_uid) AND NOT EXISTS (SELECT 1 FROM removed r WHERE r.uid = m.into_uid) LIMIT ?",
		"SELECT 'merge ' || m.id || ': its list of plates cannot be read' FROM merges m WHERE m.plates IS NOT NULL AND NOT json_valid(m.plates) LIMIT ?",
		"SELECT 'a decision on two records, ' || d.uid_a || ' and ' || d.uid_b || ', names one that was never there' FROM pair_decisions d WHERE NOT EXISTS (SELECT 1 FROM wells w WHERE w.uid = d.uid_a UNION ALL SELECT 1 FROM removed r WHERE r.uid = d.uid_a) OR NOT EXISTS (SELECT 1 FROM wells w WHERE w.uid = d.uid_b UNION ALL SELECT 1 FROM removed r WHERE r.uid = d.uid_b) LIMIT ?",
		"SELECT 'the reasons of a decision on two records, ' || d.uid_a || ' and ' || d.uid_b || ', cannot be read' FROM pair_decisions d WHERE d.reasons IS NOT NULL AND NOT json_valid(d.reasons) LIMIT ?",
	} {
		if err := c.list(ctx, "merges", mendFile, q, mostFaults); err != nil {
			return err
		}
	}
	return c.list(ctx, "merges", "search for likely pairs again", "SELECT 'the reasons of a likely pair, ' || p.uid_a || ' and ' || p.uid_b || ', cannot be read' FROM found_pairs p WHERE NOT json_valid(p.reasons) LIMIT ?", mostFaults)
}
