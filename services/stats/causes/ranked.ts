// Values at some places in the order of all, without putting all in order.

/** So many are the stretches of equal width the values are dealt to; only those asked for are sorted. */
const STRETCHES = 1024

/** The values that would stand at these places, from 0, were all sorted; each place has one. */
export function ranked(values: Float64Array, places: readonly number[]): number[] {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]
  for (let i = 0; i < values.length; i++) {
    if (values[i]! < least) least = values[i]!
    if (values[i]! > most) most = values[i]!
  }
  const scale = (STRETCHES - 1) / (most - least)
  const first = new Int32Array(STRETCHES + 1)
  // Where all are equal, or farther apart than a number may be, they are one stretch.
  const wide = scale > 0 && scale < Number.POSITIVE_INFINITY
  const stretchOf = (value: number) => (wide ? Math.floor((value - least) * scale) : 0)
  for (let i = 0; i < values.length; i++) first[stretchOf(values[i]!) + 1]!++
  for (let s = 0; s < STRETCHES; s++) first[s + 1]! += first[s]!
  const stretches = places.map((place) => stretchAt(first, place))
  const from = new Int32Array(STRETCHES).fill(-1)
  let count = 0
  for (const s of new Set(stretches)) {
    from[s] = count
    count += first[s + 1]! - first[s]!
  }
  const next = from.slice()
  const dealt = new Float64Array(count)
  for (let i = 0; i < values.length; i++) {
    const s = stretchOf(values[i]!)
    if (from[s]! >= 0) dealt[next[s]!++] = values[i]!
  }
  for (const s of new Set(stretches)) dealt.subarray(from[s]!, next[s]!).sort()
  return places.map((place, i) => dealt[from[stretches[i]!]! + place - first[stretches[i]!]!]!)
}

function stretchAt(first: Int32Array, place: number): number {
  let [low, high] = [0, STRETCHES]
  while (high - low > 1) {
    const middle = (low + high) >> 1
    if (first[middle]! <= place) low = middle
    else high = middle
  }
  return low
}
