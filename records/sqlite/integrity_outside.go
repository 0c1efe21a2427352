package sqlite

import (
	"context"
	"fmt"
)

// outside tells what other programs wrote in vain and nobody has looked at, and
// whether plates stand in the layer where their texts say.
func (c *integrity) outside(ctx context.Context) error {
	refused, err := c.OutsideRefusals(ctx, 0, false)
	if err != nil {
		return err
	}
	for i, r := range refused {
		if i == mostFaults {
			c.mention("layer", fmt.Sprintf("and %d more values of other programs that could not be used", len(refused)-i), "look at the records")
			break
		}
		c.mention("layer", fmt.Sprintf("record %d: another program wrote %q as %s, which is not used: %s", r.WellID, beginning(r.Written, 200), r.Field, r.Why), "look at the record, and put it aside there")
	}
	return c.plateSpots(ctx)
}
