// What pour after pour holds of what is followed, thinned to slices of time, as it is drawn.
import type { Scope } from '../../metal/reach.ts'

/** The GraphQL object ReachStrip: columns of one length, a slice each. */
export interface Strip {
  at: number[]
  until: number
  share: number[]
  low: number[]
  high: number[]
  gap: number[]
  castings: number[]
  unknown: number[]
}

/** Of each slice the highest; slices in which nothing was poured hold nothing. Null without pours. */
export function stripOf(pours: Scope['pours'], columns: number): Strip | null {
  const held = pours.filter(({ share }) => share.high > 0 || share.gap > 0)
  if (held.length === 0) return null
  const times = pours.map(({ share }) => share.at)
  const first = Math.min(...held.map(({ share }) => share.at))
  const last = times.reduce((a, b) => Math.max(a, b), first)
  // The last pour lies inside the last slice.
  const sliceMs = Math.max(1, Math.ceil((last + 1 - first) / columns))
  const zeros = () => new Array<number>(columns).fill(0)
  const strip: Strip = {
    at: Array.from({ length: columns }, (_, i) => first + i * sliceMs),
    until: first + columns * sliceMs,
    share: zeros(),
    low: zeros(),
    high: zeros(),
    gap: zeros(),
    castings: zeros(),
    unknown: zeros(),
  }
  for (const { share, standing } of pours) {
    const i = Math.floor((share.at - first) / sliceMs)
    if (i < 0) continue
    for (const end of ['low', 'high', 'gap'] as const)
      strip[end][i] = Math.max(strip[end][i]!, share[end])
    strip.share[i] = Math.max(strip.share[i]!, share.best)
    strip.castings[i]! += Math.round(share.castings)
    if (standing === 'unknown') strip.unknown[i]! += Math.round(share.castings)
  }
  return strip
}
