/**
 * The Greek letters of Bayer designations and the ways they are written: the letter, its English name, and the
 * abbreviations common in star catalogues.
 */

/** The letter, its name, and its other spellings. */
export const greekLetters: readonly (readonly [letter: string, name: string, ...others: string[]])[] = [
  ["α", "alpha", "alf", "alp"],
  ["β", "beta", "bet"],
  ["γ", "gamma", "gam"],
  ["δ", "delta", "del"],
  ["ε", "epsilon", "eps"],
  ["ζ", "zeta", "zet"],
  ["η", "eta"],
  ["θ", "theta", "tet", "the"],
  ["ι", "iota", "iot"],
  ["κ", "kappa", "kap"],
  ["λ", "lambda", "lam"],
  ["μ", "mu"],
  ["ν", "nu"],
  ["ξ", "xi", "ksi"],
  ["ο", "omicron", "omi", "o"],
  ["π", "pi"],
  ["ρ", "rho"],
  ["σ", "sigma", "sig"],
  ["τ", "tau"],
  ["υ", "upsilon", "ups"],
  ["φ", "phi"],
  ["χ", "chi"],
  ["ψ", "psi"],
  ["ω", "omega", "ome"],
];
