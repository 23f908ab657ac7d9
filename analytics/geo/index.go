package geo

import (
	"cmp"
	"math"
	"slices"

	"overhang/analytics/units"
)

// leafSize is how many points a branch of the index is not worth splitting for.
const leafSize = 8

// Index finds the points near a place among many, in memory. It is a k-d tree
// of earth-centred coordinates, so the date line and the poles are places like
// any other. The straight chord through the earth is never longer than the way
// along its surface, so a search by chords misses nothing, and every answer is
// measured again by Distance.
//
// An Index does not change once built, and any number of goroutines may ask it.
// It takes 60 bytes a point; a million points are built in about a second.
type Index struct {
	points []Point
	nodes  []node // the middle of every range is its splitting point
}

type node struct {
	at   [3]float64 // metres from the middle of the earth
	id   int32
	axis int8
}

// Found is a point of an index and how far it lies from the place asked about.
type Found struct {
	ID       int          `json:"id"` // its place in the points that the index was built from
	Distance units.Length `json:"distance_m"`
}

// NewIndex builds an index of points. It keeps the slice and refers to a point
// by its place there; the caller must not change it afterwards. Points must be
// valid.
func NewIndex(points []Point) *Index {
	x := &Index{points: points, nodes: make([]node, len(points))}
	for i, p := range points {
		x.nodes[i] = node{at: wgs84.centred(p), id: int32(i)}
	}
	split(x.nodes)
	return x
}

// Len is the number of points in the index.
func (x *Index) Len() int { return len(x.nodes) }

// centred gives earth-centred coordinates in metres of a point on the
// ellipsoid.
func (e *ellipsoid) centred(p Point) [3]float64 {
	sin, cos := sincosDegrees(p.Lat)
	sinL, cosL := sincosDegrees(p.Lon)
	e2 := e.f * (2 - e.f)
	n := e.a / math.Sqrt(1-e2*sin*sin)
	return [3]float64{n * cos * cosL, n * cos * sinL, n * (1 - e2) * sin}
}

func chord2(a, b [3]float64) float64 {
	x, y, z := a[0]-b[0], a[1]-b[1], a[2]-b[2]
	return x*x + y*y + z*z
}

// split orders a range of nodes into a tree, along the widest axis first.
func split(nodes []node) {
	for len(nodes) > leafSize {
		low, high := nodes[0].at, nodes[0].at
		for i := range nodes {
			for k, v := range nodes[i].at {
				low[k], high[k] = min(low[k], v), max(high[k], v)
			}
		}
		axis := 0
		for k := 1; k < 3; k++ {
			if high[k]-low[k] > high[axis]-low[axis] {
				axis = k
			}
		}
		middle := len(nodes) / 2
		selectMiddle(nodes, middle, axis)
		nodes[middle].axis = int8(axis)
		split(nodes[:middle])
		nodes = nodes[middle+1:]
	}
}

// selectMiddle puts the k-th node by an axis in its place, smaller ones before
// and larger ones after (C. A. R. Hoare, Algorithm 65: Find, 1961).
func selectMiddle(nodes []node, k, axis int) {
	low, high := 0, len(nodes)-1
	for low < high {
		a, b, c := nodes[low].at[axis], nodes[low+(high-low)/2].at[axis], nodes[high].at[axis]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := low, high
		for i <= j {
			for nodes[i].at[axis] < pivot {
				i++
			}
			for nodes[j].at[axis] > pivot {
				j--
			}
			if i <= j {
				nodes[i], nodes[j] = nodes[j], nodes[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return
		}
	}
}

// Within gives the points no farther from a place than the radius, the nearest
// first and equally far ones in order of their id. A negative radius finds
// nothing.
func (x *Index) Within(place Point, radius units.Length) []Found {
	if radius < 0 {
		return nil
	}
	at := wgs84.centred(place)
	// The slack covers the rounding of earth-centred coordinates.
	reach := float64(radius) + 1e-6
	var found []Found
	var visit func(nodes []node)
	look := func(n *node) {
		if chord2(n.at, at) > reach*reach {
			return
		}
		if d := Distance(place, x.points[n.id]); d <= radius {
			found = append(found, Found{int(n.id), d})
		}
	}
	visit = func(nodes []node) {
		for len(nodes) > leafSize {
			middle := len(nodes) / 2
			n := &nodes[middle]
			look(n)
			off := at[n.axis] - n.at[n.axis]
			switch {
			case off > reach:
				nodes = nodes[middle+1:]
			case off < -reach:
				nodes = nodes[:middle]
			default:
				visit(nodes[:middle])
				nodes = nodes[middle+1:]
			}
		}
		for i := range nodes {
			look(&nodes[i])
		}
	}
	visit(x.nodes)
	slices.SortFunc(found, byDistance)
	return found
}

func byDistance(a, b Found) int {
	return cmp.Or(cmp.Compare(a.Distance, b.Distance), cmp.Compare(a.ID, b.ID))
}

// Nearest gives the k points nearest to a place, the nearest first and equally
// far ones in order of their id; fewer when the index holds fewer.
func (x *Index) Nearest(place Point, k int) []Found {
	k = min(k, len(x.nodes))
	if k <= 0 {
		return nil
	}
	at := wgs84.centred(place)
	found := make([]Found, 0, k+1) // sorted
	reach := math.Inf(1)
	var visit func(nodes []node)
	look := func(n *node) {
		if chord2(n.at, at) > reach*reach {
			return
		}
		f := Found{int(n.id), Distance(place, x.points[n.id])}
		i, _ := slices.BinarySearchFunc(found, f, byDistance)
		if i == k {
			return
		}
		found = slices.Insert(found, i, f)
		if len(found) > k {
			found = found[:k]
		}
		if len(found) == k {
			reach = float64(found[k-1].Distance) + 1e-6
		}
	}
	visit = func(nodes []node) {
		if len(nodes) <= leafSize {
			for i := range nodes {
				look(&nodes[i])
			}
			return
		}
		middle := len(nodes) / 2
		n := &nodes[middle]
		off := at[n.axis] - n.at[n.axis]
		near, far := nodes[:middle], nodes[middle+1:]
		if off > 0 {
			near, far = far, near
		}
		visit(near)
		look(n)
		if math.Abs(off) <= reach {
			visit(far)
		}
	}
	visit(x.nodes)
	return found
}
