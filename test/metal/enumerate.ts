// By brute force: every way castings can come to lie where they do, each with its probability.

/** Takes `castings` from one place to another, blindly. */
export interface Move {
  from: string
  to: string
  castings: number
}

/** What each place holds, by pour. */
type State = Record<string, Record<string, number>>

/** Every way castings can lie after moves that never take more than there is, with its probability. */
export function waysOf(start: State, moves: readonly Move[]): [State, number][] {
  let states = new Map([[JSON.stringify(start), 1]])
  for (const move of moves) {
    const next = new Map<string, number>()
    for (const [key, chance] of states) {
      for (const [after, part] of outcomes(JSON.parse(key) as State, move)) {
        const name = JSON.stringify(after)
        next.set(name, (next.get(name) ?? 0) + chance * part)
      }
    }
    states = next
  }
  return [...states].map(([key, chance]) => [JSON.parse(key) as State, chance])
}

/** Expected castings by place and pour. */
export function enumerate(start: State, moves: readonly Move[]): State {
  const expected: State = {}
  for (const [state, chance] of waysOf(start, moves)) {
    for (const [place, held] of Object.entries(state)) {
      expected[place] ??= {}
      for (const [pour, n] of Object.entries(held)) {
        expected[place][pour] = (expected[place][pour] ?? 0) + chance * n
      }
    }
  }
  return expected
}

/** Every handful that can be taken, with its probability: drawn without putting back. */
function outcomes(state: State, { from, to, castings }: Move): [State, number][] {
  const held = state[from] ?? {}
  const pours = Object.keys(held)
  const all = pours.reduce((sum, pour) => sum + held[pour]!, 0)
  const found: [State, number][] = []
  const take = (i: number, left: number, taken: Record<string, number>, ways: number) => {
    if (i === pours.length) {
      if (left === 0) found.push([moved(state, from, to, taken), ways / choose(all, castings)])
      return
    }
    const pour = pours[i]!
    for (let n = 0; n <= Math.min(left, held[pour]!); n++) {
      take(i + 1, left - n, { ...taken, [pour]: n }, ways * choose(held[pour]!, n))
    }
  }
  take(0, castings, {}, 1)
  return found
}

function moved(state: State, from: string, to: string, taken: Record<string, number>): State {
  const after = structuredClone(state)
  after[to] ??= {}
  for (const [pour, n] of Object.entries(taken)) {
    after[from]![pour]! -= n
    after[to][pour] = (after[to][pour] ?? 0) + n
  }
  return after
}

function choose(n: number, k: number): number {
  let ways = 1
  for (let i = 1; i <= k; i++) ways = (ways * (n - k + i)) / i
  return ways
}
