// Guesses at what nobody recorded: castings of one thing all have a condition or none of them has.
import { fillIn, type Things } from './likely.ts'
import { type Atoms, KNOWN_FROM } from './table.ts'

/** Part of each row that is exposed, as far as that is known or guessed; NaN where that is too little. */
export interface Exposure {
  likely: Float64Array
  /** Nothing where all is recorded. */
  guesses: Guesses | undefined
}

/**
 * If guess g is right, of row `row[i]` the part `part[i]` is exposed, for i from `first[g]` to `first[g + 1]`; of a
 * row that part is in `likely` by its chance.
 */
export interface Guesses {
  first: Int32Array
  row: Int32Array
  part: Float64Array
  /** That it is right, going by what was recorded. Unit: chance. */
  chance: Float64Array
}

/** An exposure of which nothing is guessed. */
export function surely(likely: Float64Array): Exposure {
  return { likely, guesses: undefined }
}

/**
 * Exposed parts of rows with guesses as likely as what was found makes them, and the logarithm of how likely beforehand
 * what is then believed was. `log` says how likely what was found in a row is with so much of it exposed. Where that
 * fits neither all nor none, a guess half believed counts for a little more than it should.
 */
export function believing(
  { likely, guesses }: Exposure,
  log: (row: number, exposed: number) => number,
): { exposed: Float64Array; log: number } {
  if (!guesses) return { exposed: likely, log: 0 }
  const { first, row, part, chance } = guesses
  const exposed = Float64Array.from(likely)
  const believed = Float64Array.from(chance)
  for (let round = 0; round < ROUNDS; round++)
    for (let g = 0; g < chance.length; g++) {
      let told = Math.log(chance[g]! / (1 - chance[g]!))
      for (let i = first[g]!; i < first[g + 1]!; i++) {
        const none = exposed[row[i]!]! - part[i]! * believed[g]!
        told += log(row[i]!, none + part[i]!) - log(row[i]!, none)
      }
      const now = within(1 / (1 + Math.exp(-told)))
      for (let i = first[g]!; i < first[g + 1]!; i++)
        exposed[row[i]!]! += part[i]! * (now - believed[g]!)
      believed[g] = now
    }
  const surprise = chance.reduce((sum, p, g) => sum + surpriseOf(believed[g]!, p), 0)
  return { exposed, log: -surprise }
}
/** Guesses in one row hang on each other, though hardly. */
const ROUNDS = 2

/** How much is learnt when something of the chance p is believed by q. */
function surpriseOf(q: number, p: number): number {
  return q * Math.log(q / p) + (1 - q) * Math.log((1 - q) / (1 - p))
}

/** Nothing is ruled out. */
function within(chance: number): number {
  return Math.min(1 - LEAST, Math.max(LEAST, chance))
}
const LEAST = 1e-9

/** Makes guesses: numbers below 0 in the place of what is not known. */
export class Guesser {
  /** Of guess −1 − i at i. */
  readonly #chance: number[] = []
  readonly #pairs = new Map<string, number>()

  /** How far a condition holds by row or by unit, 0 or 1, from place 1 on: guesses where nobody knows it of a thing. */
  guess(held: Float64Array, { of, one }: Things): void {
    const likely = fillIn(Float64Array.from(one, (i) => held[i + 1]!))
    const guess = new Int32Array(one.length)
    for (let i = 1; i < held.length; i++) {
      const thing = of[i - 1]!
      if (thing < 0 || !Number.isNaN(held[i]!)) continue
      guess[thing] ||= -this.#chance.push(within(likely[thing]!))
      held[i] = guess[thing]!
    }
  }

  /** Two conditions at once. */
  and(one: number, other: number): number {
    if (one === 0 || other === 0) return 0
    if (one > 0) return other
    if (other > 0 || Number.isNaN(one)) return one
    if (Number.isNaN(other)) return other
    const key = `${one} ${other}`
    const known = this.#pairs.get(key)
    if (known !== undefined) return known
    const pair = -this.#chance.push(this.#chance[-1 - one]! * this.#chance[-1 - other]!)
    this.#pairs.set(key, pair)
    return pair
  }

  /** Of what holds of rows and of their units, from place 1 on; nothing where nothing is asked of them. */
  exposure(
    atoms: Atoms,
    ofRows: Float64Array | undefined,
    ofUnits: Float64Array | undefined,
  ): Exposure {
    const { rows, start, unit, part } = atoms
    const likely = new Float64Array(rows)
    const guessed: Guessed[] = []
    for (let r = 0; r < rows; r++) {
      const ofRow = ofRows ? ofRows[r + 1]! : 1
      const own = new Map<number, number>()
      let [known, sure] = [0, 0]
      for (let i = start[r]!; i < start[r + 1]!; i++) {
        const held = this.and(ofRow, ofUnits ? ofUnits[unit[i]! + 1]! : 1)
        if (Number.isNaN(held)) continue
        known += part[i]!
        if (held > 0) sure += part[i]!
        if (held < 0) own.set(held, (own.get(held) ?? 0) + part[i]!)
      }
      likely[r] = known < KNOWN_FROM ? Number.NaN : sure / known
      if (known < KNOWN_FROM) continue
      for (const [held, some] of own) {
        const guess = -1 - held
        guessed.push({ guess, row: r, part: some / known })
        likely[r]! += (this.#chance[guess]! * some) / known
      }
    }
    return { likely, guesses: byGuess(guessed, this.#chance) }
  }
}

interface Guessed {
  guess: number
  row: number
  part: number
}

function byGuess(guessed: Guessed[], chances: readonly number[]): Guesses {
  const inOrder = guessed.sort((a, b) => a.guess - b.guess || a.row - b.row)
  const first = new Int32Array(chances.length + 1)
  for (const { guess } of inOrder) first[guess + 1]!++
  for (let g = 0; g < chances.length; g++) first[g + 1]! += first[g]!
  return {
    first,
    row: Int32Array.from(inOrder, ({ row }) => row),
    part: Float64Array.from(inOrder, ({ part }) => part),
    chance: Float64Array.from(chances),
  }
}
