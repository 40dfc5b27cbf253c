// Package heat gives the temperature of a module by how it is held, of the skin it lies on, and of
// the air that passes over a roof.
//
// A Plate is the project's own model; Sandia, Faiman and NOCT are the published ones it is made from
// and checked against. A plate's steady rise over the air is G/U, where U depends on the air speed v
// at the roof. Two families of published figures give U:
//
//   - King, Boyson & Kratochvil 2004 (SAND2004-3535), table 1: U falls out as exp(-a - b W), W the
//     wind at 10 m, taken here as v/0.7;
//   - the linear form of Faiman 2008, U0 + U1 v.
//
// For a bonded module both say 60 K in still air at 1000 W/m², and 11 to 12 K at 90 km/h; between they
// differ by up to 12 K (at 6 m/s), and by 4 to 7 K in the light wind of a parked day. Neither
// was measured on a vehicle. The choice made here: below 5 m/s at the roof, where both lie within
// their data, the mean of the two U; above, the exponential is out of its data and the linear form has
// the slope of textbook forced convection over one face (2.6 to 3.8 W·s/(m³·K)), so its weight grows
// to one at 15 m/s. Band gives both sources and their scatter.
//
// Left out: the pull of a clear night sky (a module or lid cools 2 to 5 K below the air), the heat
// of the cabin below (0 to 3 K, a guess, on an uninsulated skin), the place on the roof, and rain.
package heat
