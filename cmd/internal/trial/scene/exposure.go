package scene

import "math"

// Shake is a camera held in a hand: it turns about itself and shifts, smoothly
// and at random, around where it was put. The zero Shake is a tripod.
type Shake struct {
	Turn  float64 // standard deviation of each turn, rad; 0.003 is a steady hand
	Shift float64 // standard deviation of each shift, m
	Seed  uint64
}

// shakeTones is how many slow swings make up each of a hand's six motions.
const shakeTones = 5

func (k Shake) move(c Camera, t float64) Camera {
	if k.Turn == 0 && k.Shift == 0 {
		return c
	}
	// sum of sines between 0.4 and 7 Hz, weaker as they get faster
	wave := func(channel int) float64 {
		sum, power := 0.0, 0.0
		for i := range shakeTones {
			h := scramble(k.Seed*977 + uint64(channel*shakeTones+i+1)*0x9e3779b97f4a7c15)
			phase := 2 * math.Pi * float64(h>>40) / (1 << 24)
			f := 0.4 * math.Pow(7/0.4, (float64(i)+float64(h&0xffff)/65536)/shakeTones)
			a := 1 / math.Pow(1+f, 1.3)
			sum += a * math.Sin(2*math.Pi*f*t+phase)
			power += a * a / 2
		}
		return sum / math.Sqrt(power)
	}
	at := c.Position()
	c.Yaw += k.Turn * wave(0)
	c.Pitch += k.Turn * wave(1)
	c.Roll += k.Turn * wave(2)
	at = at.Add(Vec{wave(3), wave(4), wave(5)}.Mul(k.Shift))
	c.Target = at.Sub(c.Rotation()[2].Mul(c.Distance))
	return c
}

// Light is how the hall's light changes while the take runs. The zero Light
// does not.
type Light struct {
	Dim   float64 // how far it falls at its lowest: 0.4 is to 60 %
	Warm  float64 // how far its colour goes from cool to warm and back: 0.15 is 15 % of the blue
	Sweep float64 // how much one side of the picture is dimmed against the other
	Beat  float64 // s for one round; 1 where zero
}

// gain is what falls on a column of the picture at a time, as shares.
func (l Light) gain(t, across float64) rgb {
	if l == (Light{}) {
		return grey(1)
	}
	phase := 2 * math.Pi * t / orElse(l.Beat, 1)
	g := 1 - l.Dim*(0.5-0.5*math.Cos(phase))
	g *= 1 - l.Sweep*(0.5+0.5*math.Sin(phase+2.5*across))
	w := l.Warm * math.Sin(phase*0.7+0.6)
	return rgb{g * (1 + 0.4*w), g, g * (1 - w)}
}

// Noise is what a sensor adds, in linear light where 1 is a white wall:
// its variance is Read^2 + Shot^2 times the light. The zero Noise is none.
type Noise struct{ Read, Shot float64 }

// normals is the normal distribution's quantiles at the middles of 2^16 equal
// shares: four draws from one 64-bit number.
var normals = func() (table [1 << 16]float32) {
	for i := range table {
		p := (float64(i) + 0.5) / float64(len(table))
		table[i] = float32(math.Sqrt2 * math.Erfinv(2*p-1))
	}
	return table
}()

// grain draws noise for one row of one frame, the same for the same seed.
type grain struct {
	state uint64
	bits  uint64
	left  int
}

func newGrain(seed uint64, frame, row int) grain {
	return grain{state: scramble(seed ^ scramble(uint64(frame)<<32|uint64(uint32(row))+0x9e3779b97f4a7c15))}
}

func (g *grain) next() float32 {
	if g.left == 0 {
		g.state += 0x9e3779b97f4a7c15
		g.bits, g.left = scramble(g.state), 4
	}
	v := normals[g.bits&0xffff]
	g.bits >>= 16
	g.left--
	return v
}

// amount is the standard deviation for a light: a table would be no faster.
func (n Noise) amount(light float32) float32 {
	v := n.Read*n.Read + n.Shot*n.Shot*math.Max(0, float64(light))
	return float32(math.Sqrt(v))
}
