import fc from 'fast-check'
import { expect, it } from 'vitest'
import type { Claim } from '../../services/events/claim.ts'
import { inForce } from '../../services/events/merge.ts'
import type { Database } from '../../services/store/connect.ts'
import { inForceAmong, placeOf, placeText } from '../../services/store/read-in-force.ts'
import { anyClaims } from '../events/claims.ts'
import { onEachDatabase } from './databases.ts'

onEachDatabase('What is in force among some statements', (database) => {
  it('is what the merge says of all that was recorded by then, whichever are asked about', async () => {
    await fc.assert(
      fc.asyncProperty(
        anyClaims(),
        fc.integer({ min: -1, max: 10 }),
        fc.infiniteStream(fc.boolean()),
        async (claims, asOf, coin) => {
          const { pool } = database.store
          await fill(pool, claims)
          const asked = claims
            .map((claim, i) => ({
              claim,
              place: { topic: 'melt', partition: 0, offset: BigInt(i) },
            }))
            .filter(() => coin.next().value)
          const found = await inForceAmong(
            pool,
            asked.map(({ place }) => place),
            asOf,
          )
          const holding = asked.filter(({ place }) => found.has(placeText(place)))
          const all = inForce(claims.filter(({ recorded }) => recorded <= asOf)).inForce
          const words = new Set([...all].map(wordOf))
          // A duplicate said at the same moment is as good as its twin: one of the two holds.
          for (const { claim } of holding) expect(words).toContain(wordOf(claim))
          const held = new Set(holding.map(({ claim }) => wordOf(claim)))
          const twins = Map.groupBy(claims, wordOf)
          for (const { claim } of asked)
            if (words.has(wordOf(claim)) && twins.get(wordOf(claim))!.length === 1)
              expect(held).toContain(wordOf(claim))
        },
      ),
      { numRuns: 150 },
    )
  })
})

it('A place is read back from its word, and nothing else is', () => {
  const place = { topic: 'north.melt', partition: 3, offset: 41n }
  expect(placeOf(placeText(place))).toEqual(place)
  for (const text of ['', 'melt', 'melt.0', 'melt.0.x', 'melt.0.-1', 'melt.0.1e3', "melt'.0.1"])
    expect(placeOf(text)).toBeUndefined()
})

function wordOf({ source, id, hash, recorded, rank }: Claim): string {
  return JSON.stringify([source, id, hash, recorded, rank])
}

async function fill(database: Database, claims: readonly Claim[]): Promise<void> {
  await database.query('delete from statement')
  for (const [offset, claim] of claims.entries()) {
    await database.query(
      `insert into statement ("offset", at, recorded, span_from, span_until, partition, rank, voids,
         topic, plant, station, source, id, type, time, hash, about, joins_source, joins_id, slot, entered)
       values ($1, 0, $2, $3, $4, 0, $5, $6, 'melt', $7, 'melt', $8, $9, 'melt.heat-tapped.v1', '', $10,
         $11, $12, $13, $14, '{}')`,
      [
        offset,
        claim.recorded,
        claim.from,
        claim.until,
        claim.rank,
        claim.void,
        claim.plant,
        claim.source,
        claim.id,
        claim.hash,
        claim.about,
        claim.joins?.source,
        claim.joins?.id,
        claim.slot && `${claim.plant} ${claim.slot}`,
      ],
    )
  }
}
