package reading

import "ecart/geometry/uncertainty"

// Study returns Read's Monte Carlo result and the first-order result without the rest of a
// reading, for studies that make thousands.
func Study(q Request) (uncertainty.Distribution, *FirstOrder, error) {
	m, _, err := q.prepare()
	if err != nil {
		return uncertainty.Distribution{}, nil, err
	}
	d, err := m.draw(&q)
	if err != nil {
		return d, nil, err
	}
	return d, m.firstOrder(d), nil
}
