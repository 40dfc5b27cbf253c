// Package sky gives the light that falls on a plane: the clear sky, the split of measured light in
// beam and diffuse, its turn onto a tilted plane, what the front of a module throws back, what the
// colour of the light does to a cell, and what the surroundings hide.
//
// Zeniths are those of the sun as seen, refracted, unless a comment says otherwise. Left out:
// twilight (no light with the sun's centre below the horizon), snow on the ground unless the albedo
// says so, polarisation, and the light that walls and trees throw back.
package sky
