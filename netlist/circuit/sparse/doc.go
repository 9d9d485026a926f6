// Package sparse solves resistive networks that are nearly trees: numbers in,
// numbers out, no knowledge of wires, parts or names.
//
// # What it takes and gives
//
// Nodes are 0..n-1. A Branch joins two nodes and has a conductance in siemens
// (0 means open). Some nodes are held at a known potential in volts, currents in
// amperes are injected into others, and any node may have a shunt conductance to
// the reference, 0 V. The answer is a potential per node and a current per branch,
// together with what is needed to judge them: the largest violation of
// Kirchhoff's current law, the condition number, and the groups of nodes that
// float because nothing ties them to a potential.
//
// The work is split by how often it is needed:
//
//	Analyze          once per list of branches: elimination order, fill
//	Pattern.Factor   once per state (Factor.Refactor re-uses the memory)
//	Factor.Solve     once per set of sources
//	Factor.With      a few branches opened, closed or added: no new factorisation
//
// A Pattern is immutable. A Factor is read-only between calls of Refactor, so
// several goroutines may Solve with it, each into a Solution of its own. A Variant
// belongs to one goroutine. The package imports nothing of the project.
//
// # Elimination order
//
// Minimum degree (Tinney & Walker 1967; George & Liu 1981, chapter 5) on the
// explicit elimination graph with exact degrees. Ties go to the node that was
// touched longest ago, so that independent nodes over the whole network are
// eliminated in rounds, the effect of Liu's multiple elimination (ACM TOMS 11,
// 1985): a tree is peeled from its leaves without any fill in linear time, and a
// chain is halved round by round, which keeps the elimination tree low. The
// explicit graph was preferred to a quotient graph because it yields the columns
// of the factor as it goes, and because the eliminated nodes of these networks have one or
// two neighbours; on a full mesh of n nodes it costs as much as the numeric
// factorisation does.
//
// # Factorisation
//
// The matrix is the weighted Laplacian of the network plus a non-negative
// diagonal, hence a diagonally dominant symmetric M-matrix. It is never assembled.
// Kept instead are its off-diagonal entries (conductances) and, per node, the
// conductance to the potentials that are given, and a node k is eliminated by the
// star-mesh transformation (Rosen 1924):
//
//	D = s[k] + sum of g[k,i]
//	g[i,j] += g[k,i] g[k,j] / D
//	s[i]   += g[k,i] s[k] / D
//
// That is the LDLᵀ factorisation of the matrix, with the pivot computed as a sum of what
// is left rather than as a difference (Grassmann, Taksar & Heyman 1985). Nothing is
// ever subtracted, so every entry of the factor has a small relative error whatever
// the condition number (O'Cinneide, Numerische Mathematik 65, 1993): a leak of
// 1e-9 S beside a weld of 1e5 S keeps its digits where an assembled diagonal would
// swallow it. It follows too that no scaling is needed, because scaling a column by
// a power of two would change no bit, and that a part of the network with no path to a
// given potential ends in a pivot that is exactly zero: floating parts are found
// without a threshold.
//
// # Solution and accuracy
//
// Every solve is followed by one step of iterative refinement, whose correction is
// kept beside the potential rather than rounded into it. The current through a weld is then
// computed from a difference of potentials that is good to about 1e-16 of itself and not of
// 12 V. What to expect, for conductances between 1e-9 and 1e5 S: potentials to
// 1e-12 relative, branch currents to 1e-12 of the largest current in the network,
// Kirchhoff sums to 1e-13 of that; held against 400-bit arithmetic, networks of 60
// nodes come out within 1e-14. Conductances outside MinSiemens..MaxSiemens are refused.
//
// # Condition
//
// The inverse of an M-matrix is non-negative (Berman & Plemmons 1979), so its
// 1-norm is the largest entry of A⁻¹e with e all ones: one solve, and exact up to rounding.
// The estimator of Hager (1984) and Higham (ACM TOMS 14, 1988), which starts from
// that very vector and would stop there, gives no more. Remember that the
// factorisation above does not suffer from a large condition number; it says
// how far the network as a whole responds to an error in the injected currents.
//
// # Updates
//
// Changing k branches adds a matrix of rank k, handled by the
// Sherman-Morrison-Woodbury formula (Hager, SIAM Review 31, 1989) on the
// factor of the unchanged network. The small k by k matrix needs the inverse only at the ends of
// those branches, which the paths from them to the root of the elimination tree
// contain (Davis 2006, chapter 4 and section 6 on reach), and a solve then costs two passes
// whatever k is. When a branch that is opened was (nearly) the only way, the small matrix
// is (nearly) singular and the network is factorised afresh, which finds the parts
// that float now.
//
// Sources: A. George, J. Liu, "Computer Solution of Large Sparse Positive Definite
// Systems", 1981; T. Davis, "Direct Methods for Sparse Linear Systems", 2006; N.
// Higham, "Accuracy and Stability of Numerical Algorithms", 2nd ed. 2002.
package sparse
