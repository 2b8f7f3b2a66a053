/**
 * A total in whole parts proportional to weights, none above its weight where the weights hold the
 * total: what is left over goes to the largest fractions, of equal ones to the first.
 */
export function shareOut(total: number, weights: readonly number[]): number[] {
  const count = weights.length
  let sum = 0
  for (const weight of weights) sum += weight
  const parts = new Array<number>(count)
  const fractions = new Array<number>(count)
  let over = total
  for (let i = 0; i < count; i++) {
    const exact = sum > 0 ? (total * weights[i]!) / sum : total / count
    const part = Math.floor(exact)
    parts[i] = part
    fractions[i] = exact - part
    over -= part
  }
  for (; over > 0 && count > 0; over--) {
    let most = 0
    for (let i = 1; i < count; i++) if (fractions[i]! > fractions[most]!) most = i
    parts[most]!++
    fractions[most] = -1
  }
  return parts
}
