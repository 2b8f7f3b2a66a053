// Counts divided without losing any: whole thousandths of a casting, what is left over to the
// largest fractions.

/** A total in whole parts proportional to weights; of equal fractions the first get what is left over. */
export function shareOut(total: number, weights: readonly number[]): number[] {
  const sum = weights.reduce((all, weight) => all + weight, 0)
  if (weights.length === 0) return []
  if (sum <= 0)
    return shareOut(
      total,
      weights.map(() => 1),
    )
  const exact = weights.map((weight) => (total * weight) / sum)
  const parts = exact.map(Math.floor)
  let over = total - parts.reduce((all, part) => all + part, 0)
  if (over <= 0) return parts
  const byFraction = [...exact.keys()].sort(
    (a, b) => exact[b]! - parts[b]! - (exact[a]! - parts[a]!) || a - b,
  )
  for (const i of byFraction) {
    if (over <= 0) break
    if (weights[i]! > 0) {
      parts[i]!++
      over--
    }
  }
  return parts
}
