// Records as genealogy hands them to the store, made by hand.
import type { Fact } from '../../services/events/fact.ts'
import type { Statement } from '../../services/events/statement.ts'
import type { Database } from '../../services/store/connect.ts'
import type { Aside, KeptRecord, Said } from '../../services/store/kept-record.ts'
import { type Chunk, readSince } from '../../services/store/read.ts'
import type { Slice } from '../../services/store/write.ts'

export const PLACE = { topic: 'melt', partition: 0 }

/** A slice of melt/0 that begins at an offset. */
export function sliceOf(first: number, outcomes: readonly (Said | Aside)[]): Slice {
  const records = outcomes.map(
    (outcome, i): KeptRecord => ({
      ...PLACE,
      offset: BigInt(first + i),
      key: 'https://foundry.example/plant/north/melt',
      bytes: Buffer.from(`record ${first + i}`),
      taken: 1_000,
      outcome,
    }),
  )
  return { ...PLACE, projection: 'p1', records }
}

/** A tap of heat H-1 into a ladle; by default its own id is the ladle's. */
export function tapped(ladle: string, more: Partial<Statement> = {}, facts?: Fact[]): Said {
  const statement: Statement = {
    plant: 'north',
    station: 'melt',
    source: 'https://foundry.example/plant/north/melt',
    id: ladle,
    type: 'melt.heat-tapped.v1',
    subject: `ladle:${ladle}`,
    time: '2026-03-02T06:40:00-06:00',
    at: 1_772_455_200_000,
    recorded: 1_772_455_201_000,
    hash: ladle.padEnd(64, '0'),
    entered: { heat: 'H-1', ladle, kg: 500 },
    ...more,
  }
  const { plant, source, id, hash, recorded, at } = statement
  return {
    statement,
    claim: {
      ...{ plant, source, id, hash, recorded },
      about: `melt.heat-tapped ${statement.subject}`,
      rank: 1,
      void: false,
    },
    facts: facts ?? [
      {
        what: 'ladle-tapped',
        of: `ladle:${ladle}`,
        other: 'heat:H-1',
        via: 'furnace:F1',
        amount: 500_000,
        at,
      },
    ],
    flags: [],
  }
}

export function unreadable(reason = 'Its bytes are no event.'): Aside {
  return { class: 'UNDECODABLE', reason, problems: [] }
}

/** The chunks of melt/0 from an offset on. */
export async function chunksSince(
  database: Database,
  next: bigint,
  most?: number,
): Promise<Chunk[]> {
  const chunks: Chunk[] = []
  for await (const chunk of readSince(database, { ...PLACE, next }, most)) chunks.push(chunk)
  return chunks
}
