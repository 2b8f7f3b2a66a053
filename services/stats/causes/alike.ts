// How far two candidates expose the same castings.
import type { Looked } from './likelihood.ts'

/** Correlation of two exposures over the castings of which both are known; 0 where either is the same for all. */
export function correlation(
  { castings }: Pick<Looked, 'castings'>,
  a: Float64Array,
  b: Float64Array,
): number {
  let [n, sa, sb, saa, sbb, sab] = [0, 0, 0, 0, 0, 0]
  for (let r = 0; r < castings.length; r++) {
    const [w, x, y] = [castings[r]!, a[r]!, b[r]!]
    if (Number.isNaN(x) || Number.isNaN(y)) continue
    n += w
    sa += w * x
    sb += w * y
    saa += w * x * x
    sbb += w * y * y
    sab += w * x * y
  }
  const spread = (saa - (sa * sa) / n) * (sbb - (sb * sb) / n)
  return spread > 0 ? (sab - (sa * sb) / n) / Math.sqrt(spread) : 0
}
