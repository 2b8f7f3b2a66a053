/** What is wrong with one field of an event, and how to put it right. */
export interface Problem {
  /** Such as `lines[2].kg`; an attribute of the envelope stands as itself, data is under its fields. */
  path: string
  problem: string
  /** What to give instead, in the imperative. */
  fix: string
  /** Well formed, but it cannot be so. */
  impossible?: true
}

/** The problem as one sentence and its fix as another. */
export function problemSentence({ path, problem, fix }: Problem): string {
  return `${path} ${problem}. ${fix}${fix.endsWith('?') ? '' : '.'}`
}

/** What cannot be so, whoever reports it. */
export function impossible(path: string, problem: string, fix: string): Problem {
  return { path, problem, fix, impossible: true }
}

/** A name somebody sent, fit to be shown and kept: quoted where it is not plain, cut where it is long. */
export function shown(name: string): string {
  if (/^[\w.:-]{1,64}$/.test(name)) return name
  return JSON.stringify(name.slice(0, 64)).replaceAll(/\p{Cc}/gu, '?')
}

/** The known name most like a mistyped one; undefined when none is near. */
export function nearestName(name: string, known: Iterable<string>): string | undefined {
  // Longer than any name: not worth comparing, and hostile ones would cost time.
  if (name.length > 64) return undefined
  let nearest: string | undefined
  let least = Math.max(1, Math.floor(name.length / 3)) + 1
  for (const candidate of known) {
    const distance = editDistance(name.toLowerCase(), candidate.toLowerCase())
    if (distance < least) [nearest, least] = [candidate, distance]
  }
  return nearest
}

/** Letters to insert, drop, change or swap with their neighbour (optimal string alignment). */
function editDistance(a: string, b: string): number {
  let before: number[] = []
  let above = Array.from({ length: b.length + 1 }, (_, j) => j)
  for (let i = 1; i <= a.length; i++) {
    const row = [i]
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1]
      let cost = Math.min(row[j - 1]! + 1, above[j]! + 1, above[j - 1]! + (same ? 0 : 1))
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) {
        cost = Math.min(cost, before[j - 2]! + 1)
      }
      row.push(cost)
    }
    ;[before, above] = [above, row]
  }
  return above[b.length]!
}
