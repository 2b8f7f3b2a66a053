// Chances told apart by how many castings fell to slots that several ways lead to. A term goes by
// those slots and numbers, `slot:castings ` in order; the empty name is for none of them.
export type Terms = Map<string, number>

/** Counts down: whoever sees it below zero gives up. */
export interface Steps {
  left: number
}

/** Sure, whatever fell to where. */
export const NOTHING: Terms = new Map([['', 1]])

export function termOf(slot: number, castings: number): Terms {
  return new Map([[`${slot}:${castings} `, 1]])
}

export function addTerm(terms: Terms, name: string, chance: number): void {
  terms.set(name, (terms.get(name) ?? 0) + chance)
}

export function total(terms: Terms): number {
  let sum = 0
  for (const chance of terms.values()) sum += chance
  return sum
}

/** Both: numbers that fell to the same slot add up. */
export function product(a: Terms, b: Terms, steps: Steps): Terms {
  steps.left -= a.size * b.size
  if (steps.left < 0 || a.size === 0 || b.size === 0) return new Map()
  if (b === NOTHING) return a
  const found: Terms = new Map()
  for (const [x, p] of a) for (const [y, q] of b) addTerm(found, joined(x, y), p * q)
  return found
}

/** Puts in what is known of one slot, by how many fell to it. */
export function resolve(terms: Terms, slot: number, known: readonly Terms[], steps: Steps): Terms {
  const resolved: Terms = new Map()
  for (const [name, chance] of terms) {
    const counts = countsOf(name)
    const castings = counts.find(([of]) => of === slot)?.[1] ?? 0
    const others: Terms = new Map([[nameOf(counts.filter(([of]) => of !== slot)), chance]])
    const put = castings === 0 ? NOTHING : known[Math.min(castings, known.length - 1)]!
    for (const [more, part] of product(others, put, steps)) addTerm(resolved, more, part)
  }
  return resolved
}

function joined(a: string, b: string): string {
  if (a === '' || b === '') return a || b
  const counts = new Map(countsOf(a))
  for (const [slot, n] of countsOf(b)) counts.set(slot, (counts.get(slot) ?? 0) + n)
  return nameOf([...counts])
}

function countsOf(name: string): [slot: number, castings: number][] {
  return name
    .split(' ')
    .filter(Boolean)
    .map((one) => one.split(':').map(Number) as [number, number])
}

function nameOf(counts: readonly [slot: number, castings: number][]): string {
  return [...counts]
    .sort(([a], [b]) => a - b)
    .map(([slot, n]) => `${slot}:${n} `)
    .join('')
}
