// Drawing without putting back, where counts may be broken because they were divided.

/** Chances of numbers that follow one another; what is left out on either side cannot be seen in an answer. */
export interface Drawn {
  /** The number that the first chance is of. */
  first: number
  chances: Float64Array
}

/**
 * Chances that of `taken` castings so many are of one source, out of its castings and the others. A
 * broken count is one of the two whole ones beside it, so that the mean is kept.
 */
export function hypergeometric(castings: number, others: number, taken: number): Drawn {
  const all = castings + others
  const total = Math.max(taken, Math.round(all))
  const own = all > 0 ? (total * castings) / all : 0
  const whole = Math.floor(own + ROUNDING)
  const more = own - whole
  const fewer = drawn(whole, total, taken)
  return more > ROUNDING ? either(fewer, drawn(whole + 1, total, taken), more) : fewer
}

const ROUNDING = 1e-9
const NEGLIGIBLE = 1e-13

/** Of `total` castings `own` are wanted, `taken` are drawn: from the likeliest number both ways, each from the last. */
function drawn(own: number, total: number, taken: number): Drawn {
  const others = total - own
  const [least, most] = [Math.max(0, taken - others), Math.min(own, taken)]
  const likeliest = Math.min(most, Math.floor(((taken + 1) * (own + 1)) / (total + 2)))
  const peak = Math.exp(
    logChoose(own, likeliest) + logChoose(others, taken - likeliest) - logChoose(total, taken),
  )
  const chances = new Float64Array(most - least + 1)
  chances[likeliest - least] = peak
  let first = likeliest
  for (let p = peak; first > least && p > NEGLIGIBLE; first--) {
    p *= (first * (others - taken + first)) / ((own - first + 1) * (taken - first + 1))
    chances[first - least - 1] = p
  }
  let last = likeliest
  for (let p = peak; last < most && p > NEGLIGIBLE; last++) {
    p *= ((own - last) * (taken - last)) / ((last + 1) * (others - taken + last + 1))
    chances[last - least + 1] = p
  }
  return { first, chances: chances.subarray(first - least, last - least + 1) }
}

/** One or the other, the second with this chance. */
function either(a: Drawn, b: Drawn, chance: number): Drawn {
  const first = Math.min(a.first, b.first)
  const end = Math.max(a.first + a.chances.length, b.first + b.chances.length)
  const chances = new Float64Array(end - first)
  add(chances, a, a.first - first, 1 - chance)
  add(chances, b, b.first - first, chance)
  return { first, chances }
}

function add(into: Float64Array, { chances }: Drawn, at: number, weight: number): void {
  for (let k = 0; k < chances.length; k++) into[at + k]! += weight * chances[k]!
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
