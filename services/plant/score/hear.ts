// What the foundry reports, as the house would have it in hand: judged as a door judges it, read as
// genealogy reads it, without log and database between.
import { claimOf, factsOf } from '../../events/catalog.ts'
import { decode, decodeEvent } from '../../events/envelope.ts'
import type { Fact, Name } from '../../events/fact.ts'
import type { Statement } from '../../events/statement.ts'
import type { Noted, Said } from '../../metal/fact-book.ts'
import { RecordInHand, type Told, tieOf } from '../../query/record/record-in-hand.ts'
import type { Random } from '../random.ts'
import type { Report } from '../report.ts'

export interface Heard {
  record: RecordInHand
  plant: string
  /** Reports that a door refuses. */
  refused: number
}

/**
 * Reports in the order they reach the doors, each recorded when it does. With `muddled`, things get
 * numbers in another order and reports come in batches of another order, as several writers make it:
 * no answer may depend on that.
 */
export function hear(reports: readonly Report[], muddled?: Random): Heard {
  const record = new RecordInHand()
  const numbers = new Numbers(record, muddled)
  const told: Told[] = []
  let plant = ''
  let recorded = 0
  let refused = 0
  for (const { body, reaches } of reports) {
    // Strictly rising, as at a door.
    recorded = Math.max(Math.ceil(reaches), recorded + 1)
    const decoded =
      typeof body === 'string'
        ? decode(Buffer.from(body), { recorded })
        : decodeEvent({ ...body }, { recorded })
    if (!decoded.ok) {
      refused++
      continue
    }
    plant = decoded.statement.plant
    told.push(tellingOf(decoded.statement, decoded.data, numbers))
  }
  if (!muddled) record.take(told)
  else for (const batch of batchesOf(shuffled(told, muddled), muddled)) record.take(batch)
  return { record, plant, refused }
}

function* batchesOf(told: Told[], random: Random): Iterable<Told[]> {
  for (let at = 0; at < told.length; ) {
    const size = random.whole(1, Math.ceil(told.length / 4))
    yield told.slice(at, at + size)
    at += size
  }
}

function shuffled<T>(list: readonly T[], random: Random): T[] {
  return list
    .map((one): [number, T] => [random.unit(), one])
    .sort(([a], [b]) => a - b)
    .map(([, one]) => one)
}

function tellingOf(statement: Statement, data: unknown, numbers: Numbers): Told {
  const said: Said = { spans: [], tie: tieOf(statement.hash) }
  const facts = factsOf(statement, data).map(
    (fact, n): Noted => ({ fact: numbers.numbered(statement.plant, fact), said, n }),
  )
  return { ...claimOf(statement, data), said, facts, noted: false }
}

/** More than any plant here names. */
const MOST_THINGS = 100_000

/** Numbers of things, as the dictionary of the store gives them: in the order they are named, or by chance. */
class Numbers {
  readonly #record: RecordInHand
  readonly #muddled: Random | undefined
  readonly #taken = new Set<number>()

  constructor(record: RecordInHand, muddled?: Random) {
    this.#record = record
    this.#muddled = muddled
  }

  numbered(plant: string, fact: Fact): Fact<number> {
    const numbered: Record<string, unknown> = { ...fact, of: this.#no(plant, fact.of) }
    for (const end of ['other', 'via'] as const) {
      const name = (fact as { other?: Name; via?: Name })[end]
      if (name !== undefined) numbered[end] = this.#no(plant, name)
    }
    return numbered as unknown as Fact<number>
  }

  #no(plant: string, name: Name): number {
    const { things } = this.#record
    const known = things.numberOf(plant, name)
    if (known !== undefined) return known
    const no = this.#free()
    this.#taken.add(no)
    things.add(no, { plant, name })
    return no
  }

  #free(): number {
    if (!this.#muddled) return this.#taken.size + 1
    let no = 0
    do no = this.#muddled.whole(1, MOST_THINGS)
    while (this.#taken.has(no))
    return no
  }
}
