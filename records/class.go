package records

import "fmt"

// Class says what kind of ground a material is, as far as the picks of
// bedrock are concerned.
type Class uint8

// The classes of ground. Unknown is the zero value on purpose: what was not
// understood must never count as rock or as soil.
const (
	ClassUnknown    Class = iota // not understood; neither soil nor rock
	ClassSoil                    // unconsolidated: till, sand, clay, fill
	ClassTransition              // between the two: saprolite, rotten rock
	ClassRock                    // consolidated rock
	ClassVoid                    // no ground: cavity, old working, open water
)

var classNames = [...]string{"unknown", "soil", "transition", "rock", "void"}

// String gives the name used in files and in the database.
func (c Class) String() string {
	if int(c) < len(classNames) {
		return classNames[c]
	}
	return fmt.Sprintf("class(%d)", uint8(c))
}

// ParseClass reads the names that String writes.
func ParseClass(s string) (Class, error) {
	for i, n := range classNames {
		if n == s {
			return Class(i), nil
		}
	}
	return ClassUnknown, fmt.Errorf("ground class %q is not one of soil, transition, rock, void, unknown", s)
}

// MarshalText implements encoding.TextMarshaler.
func (c Class) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (c *Class) UnmarshalText(b []byte) error {
	v, err := ParseClass(string(b))
	if err != nil {
		return err
	}
	*c = v
	return nil
}
