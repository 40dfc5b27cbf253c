// Package climate holds the built-in monthly climate of the Earth and makes days of weather from
// it.
//
// # The table
//
// world.bin holds five grids, packed as codec.go says and made by cmd/makeclimate:
//
//	grid                     step  code                rounding error, at most
//	clearness GHI/H0         2°    byte/250            0.002
//	mean daily lowest  (*)   2°    (byte-128)/2 °C     0.25 K
//	mean daily highest (*)   2°    (byte-128)/2 °C     0.25 K
//	mean wind at 50 m        4°    byte/10 m/s         0.05 m/s; ±58° of latitude, held beyond
//	ground elevation         1°    25·byte m           12.5 m; the sea is 0
//
// (*) reduced to sea level by 6 K/km. Values stand at cell centres and are interpolated bilinearly;
// longitude wraps, latitude is held beyond the last centre.
//
// # What it is worth
//
// Clearness: NASA POWER 2001-2020 within 60° of the equator, beyond it a regression on New et al.
// 1999. Against the monthly sums of 18 typical-year files on four continents, the mean error of a
// month as a share of the mean month is 6.0 % at the median site and 9.6 % at the 90th percentile
// of sites (worst: Pittsburgh 19 %, whose file itself reads low; Antananarivo 12 %); taken month by
// month, 213 months over 0.1 kWh/m², the median is 5.9 % and the 90th percentile 18 %, for those
// files hold one real year's month each. It reads 4 % higher than those files on average, part of
// which is their older, dimmer decades; nothing here is tuned to them. RadiationError gives the
// share to put into a band: 7 %, and 10 % beyond 60° or in deep winter.
//
// Temperature: 0.2 K at the median of land cells from the grid, but 3 to 5 K in steep mountains
// and valleys, where a reading of the user's own is better.
//
// # Days
//
// Generator makes days from the means. Over 200 years of ten places the year's radiation keeps the
// climate within 0.6 %, a month's within 3 %. A month's mean varies from year to year by 8 % in
// summer and 12 to 16 % in winter at Hamburg, 3 to 7 % at Seville, 2 to 5 % at Phoenix (standard
// deviation). Within months of five hourly files the days' clearness spreads by 0.11 to 0.17 and
// that of the days made for them by 0.12 to 0.16; lag-1 correlation 0.19 to 0.35 against 0.17 to
// 0.20: spells of one kind of weather are a little too short.
//
// # What is left out
//
// Rain, snow on the ground, trends of the climate, cloud edges brighter than a clear sky beyond a
// tenth, and the bond between wind and cloud.
package climate
