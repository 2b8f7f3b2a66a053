// What the foundry reports, as the house would have it in hand: judged as a door judges it, read as
// genealogy reads it, without log and database between.
import { claimOf, factsOf } from '../../events/catalog.ts'
import { decode, decodeEvent } from '../../events/envelope.ts'
import type { Fact, Name } from '../../events/fact.ts'
import type { Statement } from '../../events/statement.ts'
import type { Noted, Said } from '../../metal/fact-book.ts'
import { RecordInHand, type Told, tieOf } from '../../query/record/record-in-hand.ts'
import type { Report } from '../report.ts'

export interface Heard {
  record: RecordInHand
  plant: string
  /** Reports that a door refuses. */
  refused: number
}

/** Reports in the order they reach the doors, each recorded when it does. */
export function hear(reports: readonly Report[]): Heard {
  const record = new RecordInHand()
  const numbers = new Numbers(record)
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
  record.take(told)
  return { record, plant, refused }
}

function tellingOf(statement: Statement, data: unknown, numbers: Numbers): Told {
  const said: Said = { spans: [], tie: tieOf(statement.hash) }
  const facts = factsOf(statement, data).map(
    (fact, n): Noted => ({ fact: numbers.numbered(statement.plant, fact), said, n }),
  )
  return { ...claimOf(statement, data), said, facts, noted: false }
}

/** Numbers of things, as the dictionary of the store gives them: in the order they are named. */
class Numbers {
  readonly #record: RecordInHand
  #next = 1

  constructor(record: RecordInHand) {
    this.#record = record
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
    things.add(this.#next, { plant, name })
    return this.#next++
  }
}
