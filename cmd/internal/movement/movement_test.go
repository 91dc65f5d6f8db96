package movement

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every movement and contrast has a card in each of its conditions, and no line of it is empty.
func TestCardsAreWhole(t *testing.T) {
	whole := func(c Card, name string) {
		require.NotEmpty(t, c.Lines, name)
		assert.NotEmpty(t, c.Title, name)
		for _, l := range c.Lines {
			assert.NotEmpty(t, l.Head, name)
			assert.NotEmpty(t, l.Text, "%s: %s", name, l.Head)
			assert.NotEmpty(t, l.Source, "%s: %s", name, l.Head)
		}
		assert.Contains(t, c.Cautions, "pain ends the test: pain, clicking or giving way means stop and see a clinician")
	}
	for _, name := range CardNames() {
		if c, ok := FindContrast(name); ok {
			whole(CardOfContrast(c), name)
			continue
		}
		for _, condition := range Conditions {
			c, err := FindCard(name, "", condition)
			require.NoError(t, err)
			whole(c, name+" "+condition)
		}
	}
	for _, v := range Variants("") {
		for _, condition := range Conditions {
			c, ok := CardOf(v.Measure, v.Name, condition)
			require.True(t, ok, v.Name)
			whole(c, v.Measure+" "+v.Name)
		}
	}
	for _, m := range All() {
		_, ok := CardOf(m.Measure, m.Variant, Passive)
		assert.True(t, ok, m.Name)
	}
	assert.Len(t, positions, len(variants), "a position for each variant and no other")
}

// A split's card says what the floor does, and that an over-split comes after a full one.
func TestCardOfASplit(t *testing.T) {
	c, err := FindCard("hip-split", "", Passive)
	require.NoError(t, err)
	assert.Contains(t, c.Lines[0].Text, "caps the passive range at 180")
	assert.Equal(t, "an over-split only on top of a full passive split, and with a qualified person", c.Cautions[0])
	active, err := FindCard("hip-split", "", Active)
	require.NoError(t, err)
	assert.Contains(t, active.Lines[0].Text, "active split: how far own strength")
	for _, c := range []struct{ name, variant, condition string }{{"hip-split", "front", Passive}, {"hip-split", "", "cold"}, {"cartwheel", "", Passive}, {"hip-flexion-knee", "", Passive}, {"leg-front", "back", Active}} {
		_, err := FindCard(c.name, c.variant, c.condition)
		assert.Error(t, err, c.name)
	}
}

// The order of the hall and the number of takes are those that the cards state.
func TestHallIsAsOnTheCards(t *testing.T) {
	c, ok := CardOf("hip-split", "", Active)
	require.True(t, ok)
	said := map[string]string{}
	for _, l := range c.Lines {
		said[l.Head] = l.Text
	}
	assert.Contains(t, said["order"], "active before passive")
	assert.Contains(t, said["takes"], "three of each")
	assert.Equal(t, 3, CardTakes)
	assert.Equal(t, []string{Active, Passive}, InHall[:2])
	assert.ElementsMatch(t, Conditions, InHall)
}
