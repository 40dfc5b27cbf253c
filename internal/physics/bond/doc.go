// Package bond gives the forces on a module held to a roof, lid or fabric, and what holds it: suction
// at road speed, a loose front edge that peels (the unzip check), creep on a tilted lid, movement with
// heat, adhesives and the skins they stick to, primer, the weather of the bonding day, the build-up of
// a bond, burns by touch, fasteners, securing, gas struts and cable supports.
//
// Two sentences govern the subject. A bond is strong against a short pull and weak against a long one:
// each load is held against the figure of its own duration, never against one "strength". And area is
// almost never the problem: a lifted edge is, for peel loads a line.
//
// Most figures of adhesives and skins are from memory or common practice and each row says so; the
// sheet of the tape in hand, and a peel test on the very skin, come before them. Coefficients of
// suction are those of flat roofs of buildings, taken as an upper bound: no map for camper roofs has
// been published. Where a code is quoted, check the edition in force where you are.
//
// Left out: fatigue of the bond under gusts and vibration, water under the edge, ageing of the
// adhesive by light, and the stiffness of the module, which carries part of a peel load.
package bond
