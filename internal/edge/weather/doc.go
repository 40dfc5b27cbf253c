// Package weather reads typical-year weather files, EPW and TMY3, plain or gzipped.
//
// Both label an hour by its end, in local standard time without daylight saving; a Series holds the
// hours by their start. The values are used as they are. What a file lacks is filled, counted and
// told in Notes; faults of single rows are listed in Problems and count as gaps.
//
// Formats: EPW, D. B. Crawley, J. W. Hand and L. K. Lawrie, Improving the weather information
// available to simulation programs, Building Simulation 1999; limits and missing-value codes from
// memory. TMY3, S. Wilcox and W. Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156 (2008).
//
// Left out: services on the network; steps finer than an hour are averaged to hours.
package weather
