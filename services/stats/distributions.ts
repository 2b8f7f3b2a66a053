// Tails and quantiles, all of them from the incomplete beta and gamma functions of one library.
import betainc from '@stdlib/math-base-special-betainc'
import erfc from '@stdlib/math-base-special-erfc'
import erfcinv from '@stdlib/math-base-special-erfcinv'
import gammainc from '@stdlib/math-base-special-gammainc'
import gammaincinv from '@stdlib/math-base-special-gammaincinv'
import gammaln from '@stdlib/math-base-special-gammaln'
import betaincinv from '@stdlib/math-base-special-kernel-betaincinv'

/** Chance that a standard normal value lies above z. */
export function normalAbove(z: number): number {
  return 0.5 * erfc(z * Math.SQRT1_2)
}

/** The z that a standard normal value lies below with chance p. */
export function normalQuantile(p: number): number {
  return -Math.SQRT2 * erfcinv(2 * p)
}

/** Chance that chi-square with df degrees of freedom lies above x. */
export function chiSquareAbove(x: number, df: number): number {
  return x <= 0 ? 1 : gammainc(x / 2, df / 2, true, true)
}

/** The x that chi-square with df degrees of freedom lies below with chance p. */
export function chiSquareQuantile(p: number, df: number): number {
  return p <= 0 ? 0 : p >= 1 ? Number.POSITIVE_INFINITY : 2 * gammaincinv(p, df / 2, false)
}

/** Chance that Student's t with df degrees of freedom lies above t. */
export function studentAbove(t: number, df: number): number {
  const tail = 0.5 * betainc(df / (df + t * t), df / 2, 0.5, true, false)
  return t >= 0 ? tail : 1 - tail
}

/** The t that Student's t with df degrees of freedom lies below with chance p. */
export function studentQuantile(p: number, df: number): number {
  if (p === 0.5) return 0
  if (p < 0.5) return -studentQuantile(1 - p, df)
  const upper = 2 * (1 - p)
  const [below, above] = betaincinv(df / 2, 0.5, upper, 1 - upper)
  return Math.sqrt((df * above!) / below!)
}

/** The chance that a beta(a, b) value lies below with chance p; 0 or 1 where a or b is 0. */
export function betaQuantile(p: number, a: number, b: number): number {
  if (a <= 0) return 0
  if (b <= 0) return 1
  return betaincinv(a, b, p, 1 - p)[0]!
}

/** Chance of at least k hits in n tries of chance p. */
export function binomialAtLeast(k: number, n: number, p: number): number {
  return k <= 0 ? 1 : k > n ? 0 : betainc(p, k, n - k + 1, true, false)
}

/** Chance of at least k where mean are expected. */
export function poissonAtLeast(k: number, mean: number): number {
  return k <= 0 ? 1 : mean <= 0 ? 0 : gammainc(mean, k, true, false)
}

/** Natural logarithm of n!; n may be broken. */
export function logFactorial(n: number): number {
  return gammaln(n + 1)
}

/** Natural logarithm of the number of ways to choose k of n. */
export function logChoose(n: number, k: number): number {
  return logFactorial(n) - logFactorial(k) - logFactorial(n - k)
}

/** Chance of exactly k marked ones among `drawn` of `all`, `marked` of which are marked. */
export function hypergeometric(k: number, all: number, marked: number, drawn: number): number {
  if (k < Math.max(0, drawn - (all - marked)) || k > Math.min(marked, drawn)) return 0
  return Math.exp(logChoose(marked, k) + logChoose(all - marked, drawn - k) - logChoose(all, drawn))
}

/** Chance of at least k marked ones among `drawn` of `all`. */
export function hypergeometricAtLeast(
  k: number,
  all: number,
  marked: number,
  drawn: number,
): number {
  const most = Math.min(marked, drawn)
  const least = Math.max(0, drawn - (all - marked))
  if (k <= least) return 1
  let sum = 0
  for (let i = most; i >= k; i--) sum += hypergeometric(i, all, marked, drawn)
  return Math.min(1, sum)
}
