package drainage

import "math"

// jet is water as it leaves an edge: speed along the slope and depth square to
// it, with the slope's angle.
type jet struct {
	speed, depth, width float64
	tan, cos, sin       float64
}

func slopeOf(pitch float64) (tan, cos, sin float64) {
	cos = 1 / math.Hypot(1, pitch)
	return pitch, cos, pitch * cos
}

// sheetOff gives the sheet that leaves an eave: unit is its flow in m²/s, the
// rain on the plan run above a metre of eave. Kinematic wave: gravity along the
// slope against Manning's friction, the depth standing for the hydraulic radius.
func sheetOff(unit, pitch, n float64) jet {
	j := jet{}
	j.tan, j.cos, j.sin = slopeOf(pitch)
	j.depth = math.Pow(n*unit/math.Sqrt(j.sin), 0.6)
	if j.depth > 0 {
		j.speed = unit / j.depth
	}
	return j
}

// valleyOff gives the stream that leaves a valley in a trough whose sides rise
// crosswise as the valley itself rises lengthwise, as those of two equal slopes
// at a square corner do.
func valleyOff(flow, pitch, n float64) jet {
	j := jet{}
	j.tan, j.cos, j.sin = slopeOf(pitch)
	if flow <= 0 {
		return j
	}
	z := 1 / pitch // run of a side for each unit of height
	r := z / (2 * math.Hypot(1, z))
	j.depth = math.Pow(flow*n/math.Sqrt(j.sin)/(z*math.Pow(r, 2.0/3)), 3.0/8)
	j.speed = flow / (z * j.depth * j.depth)
	j.width = 2 * z * j.depth
	return j
}

// drop gives how far under the edge the jet is when it has gone out a reach:
// its upper face, whose start stands higher by the depth, or its lower.
func (j jet) drop(reach float64, upper bool) float64 {
	out := j.speed * j.cos
	d := math.Inf(1)
	if out > 0 {
		d = reach*j.tan + gravity*reach*reach/(2*out*out)
	}
	if upper {
		d -= j.depth / j.cos
	}
	return d
}

// throw gives how far out the jet is when it has fallen by drop under the edge.
func (j jet) throw(drop float64, upper bool) float64 {
	if upper {
		drop += j.depth / j.cos
	}
	if drop <= 0 || j.speed <= 0 {
		return 0
	}
	down := j.speed * j.sin
	t := 2 * drop / (down + math.Sqrt(down*down+2*gravity*drop))
	return j.speed * j.cos * t
}

// begins gives the rain, in the unit of most, at which the upper face of the
// jet first passes the lip; infinite when not up to most.
func begins(jet func(rain float64) jet, reach, drop, most float64) float64 {
	over := func(rain float64) bool { return jet(rain).throw(drop, true) > reach }
	if !over(most) {
		return math.Inf(1)
	}
	lo, hi := math.Log(most*1e-6), math.Log(most)
	for range 30 {
		mid := (lo + hi) / 2
		if over(math.Exp(mid)) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return math.Exp(hi)
}

// SheetMinutes gives the time, in minutes, that a sheet of water takes down a
// slope of length metres and pitch (rise over run) with Manning's n, under rain
// in mm/h: the kinematic wave of FHWA HEC-22, from memory.
func SheetMinutes(length, pitch, n, rain float64) float64 {
	return 6.92 / math.Pow(rain, 0.4) * math.Pow(n*length/math.Sqrt(pitch), 0.6)
}
