// Package geo measures on the earth: geodesic distance and direction on WGS84,
// point in polygon, an index of points in memory, and short tours through
// stops.
//
// Positions are geographic latitude and longitude in degrees on WGS84, distance
// is units.Length (metres), directions are degrees clockwise from north.
// Nothing here knows streets: every distance is as the crow flies, so a walk or
// a drive is longer.
//
// Sources:
//
//   - T. Vincenty, Direct and inverse solutions of geodesics on the ellipsoid
//     with application of nested equations, Survey Review 23(176), 1975: the
//     iteration on the longitude of the auxiliary sphere.
//   - C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87, 2013:
//     the sixth-order series of the distance and longitude integrals (his
//     equations 17, 18, 24 and 25), and the search on the first azimuth for
//     pairs so nearly antipodal that the iteration does not settle.
//   - NGA.STND.0036 (2014): WGS84, a = 6,378,137 m, 1/f = 298.257223563.
//   - H. Butler and others, RFC 7946, 2016: rings of a polygon, edges straight
//     in longitude and latitude.
//   - J. L. Bentley, Multidimensional binary search trees used for associative
//     searching, Communications of the ACM 18(9), 1975: the index.
//   - G. A. Croes, A method for solving traveling-salesman problems, Operations
//     Research 6(6), 1958 (2-opt); I. Or, doctoral thesis, Northwestern
//     University, 1976 (Or-opt); O. Martin, S. Otto and E. Felten, Large-step
//     Markov chains for the traveling salesman problem, Complex Systems 5(3),
//     1991 (the kick between descents). These three citations are from memory.
package geo
