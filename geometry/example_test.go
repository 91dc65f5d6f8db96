package geometry_test

import (
	"fmt"

	"ecart/geometry"
)

// A leap to the right whose legs are both a little above level: an over-split.
func ExampleMeasure_Bind() {
	marks := map[string]geometry.Point{
		"hip": {X: 0, Y: 0.95}, "shoulder": {X: 0.05, Y: 1.45},
		"front-ankle": {X: 0.85, Y: 1.02}, "back-ankle": {X: -0.84, Y: 1.04},
	}
	m, _ := geometry.Lookup("hip-split")
	b, err := m.Bind(marks, geometry.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	var points []geometry.Point
	for _, name := range b.Landmarks() {
		points = append(points, marks[name])
	}
	fmt.Printf("%.1f\n", b.Angle(points).Degrees())
	// Output: 190.8
}

// Without facing, 170 and 190 degrees cannot be told apart from the side.
func ExampleOptionError() {
	marks := map[string]geometry.Point{"hip": {Y: 0}, "shoulder": {Y: 0.5}, "elbow": {X: 0.05, Y: 0.8}}
	m, _ := geometry.Lookup("shoulder-flexion")
	_, err := m.Bind(marks, geometry.Options{})
	fmt.Println(err)
	fmt.Println(err.(*geometry.OptionError).Hint())
	// Output:
	// shoulder-flexion needs facing: which way the chest faces in the picture
	// give facing as left or right
}
