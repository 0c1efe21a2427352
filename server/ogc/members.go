package ogc

import (
	"bytes"
	"encoding/json"
)

// members is a JSON object whose members keep their order.
type members[T any] struct {
	names  []string
	values []T
}

func (m *members[T]) add(name string, v T) {
	m.names, m.values = append(m.names, name), append(m.values, v)
}

// MarshalJSON implements json.Marshaler.
func (m *members[T]) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, name := range m.names {
		if i > 0 {
			b.WriteByte(',')
		}
		key, err := marshal(name)
		if err != nil {
			return nil, err
		}
		value, err := marshal(m.values[i])
		if err != nil {
			return nil, err
		}
		b.Write(append(append(key, ':'), value...))
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// marshal writes JSON as it is read, without the escapes that a page would
// need: what is sent is never taken for one.
func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}
