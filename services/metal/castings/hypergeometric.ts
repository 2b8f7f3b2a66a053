// Drawing without putting back, where counts may be broken because they were divided.

/**
 * Chances that of `taken` castings so many are of one source, out of its castings and the others. A
 * broken count is one of the two whole ones beside it, so that the mean is kept.
 */
export function hypergeometric(castings: number, others: number, taken: number): Float64Array {
  const all = castings + others
  const total = Math.max(taken, Math.round(all))
  const own = all > 0 ? (total * castings) / all : 0
  const whole = Math.floor(own + ROUNDING)
  const more = own - whole
  const chances = new Float64Array(taken + 1)
  addDraw(chances, whole, total, taken, 1 - Math.max(0, more))
  if (more > ROUNDING) addDraw(chances, whole + 1, total, taken, more)
  return chances
}

const ROUNDING = 1e-9

/** Of `total` castings `own` are wanted, `taken` are drawn: each number wanted with its chance. */
function addDraw(
  chances: Float64Array,
  own: number,
  total: number,
  taken: number,
  weight: number,
): void {
  const others = total - own
  const all = logChoose(total, taken)
  for (let i = Math.max(0, taken - others); i <= Math.min(own, taken); i++) {
    chances[i]! += weight * Math.exp(logChoose(own, i) + logChoose(others, taken - i) - all)
  }
}

function logChoose(n: number, k: number): number {
  return logFactorial(n) - logFactorial(k) - logFactorial(n - k)
}

const factorials = [0]

/** Kept, since castings are counted up to thousands again and again. */
function logFactorial(n: number): number {
  for (let i = factorials.length; i <= n; i++) factorials.push(factorials[i - 1]! + Math.log(i))
  return factorials[n]!
}
