/** From so many lanes on a wall wants thinner ones. */
export const DENSE_FROM = 8;

/** Up to so many lanes leave room for taller ones. */
export const FEW = 4;
