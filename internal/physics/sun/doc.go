// Package sun gives the place of the sun in the sky, its daily course and its strength outside the
// atmosphere.
//
// The position is that of J. Meeus, Astronomical Algorithms, 2nd ed. (1998), ch. 25, low accuracy,
// with nutation in its four largest terms (ch. 22), aberration, the parallax of the observer's true
// place, and four periodic terms of Venus, Jupiter and the Moon from the first edition, ch. 18,
// whose arguments count from 1900. Left out: the diurnal aberration (0.3″), polar motion, and the
// difference of UT1 and UTC (up to 0.9 s of time, 13″ of hour angle), which nobody knows ahead.
//
// Instants are UTC. Refraction is a function of its own: a Position is airless unless Apparent
// made it.
package sun
