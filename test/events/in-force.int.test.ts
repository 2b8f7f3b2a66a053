import fc from 'fast-check'
import { expect, it } from 'vitest'
import type { Claim } from '../../services/events/claim.ts'
import { inForce } from '../../services/events/merge.ts'
import type { Store } from '../../services/store/connect.ts'
import { onEachDatabase } from '../store/databases.ts'
import { anyClaims, claim, PLANT, printAll, sourceOf } from './claims.ts'

// Each case is a plant of its own, so that one question to the view settles a hundred of them.
const PLANTS = 100

onEachDatabase('the view of statements in force', (database) => {
  it('equals the merge on claims that get in each other’s way', async () => {
    const plants = fc.array(anyClaims(), { minLength: PLANTS, maxLength: PLANTS, size: 'max' })
    await fc.assert(
      fc.asyncProperty(plants, async (cases) => {
        const claims = cases.flatMap((claims, i) => claims.map((one) => movedTo(i, one)))
        const found = await readView(database.store, claims)
        expect(printAll(found)).toEqual(printAll(inForce(claims).inForce))
      }),
      { numRuns: 25 },
    )
  })

  it('equals the merge on long chains, wide rivalries and a large circle', async () => {
    const join = (id: string) => ({ source: sourceOf('f1'), id })
    const many = (make: (i: number) => Partial<Claim>) =>
      Array.from({ length: 300 }, (_, i) => claim({ recorded: i % 7, ...make(i) }))
    const claims = [
      ...many((i) => ({ id: `chain ${i}`, joins: join(`chain ${i - 1}`) })),
      ...many((i) => ({ id: `circle ${i}`, joins: join(`circle ${(i + 1) % 300}`) })),
      ...many((i) => ({ id: `tail ${i}`, joins: join(i === 0 ? 'circle 7' : `tail ${i - 1}`) })),
      ...many((i) => ({ id: `rival ${i}`, joins: join('never') })),
      ...many((i) => ({ id: `slot ${i}`, slot: 'heat 7 ladle 1' })),
      ...many((i) => ({ id: `load ${i}`, slot: 'load X', from: i * 10, until: i * 10 + (i % 20) })),
    ]
    const found = await readView(database.store, claims)
    expect(printAll(found)).toEqual(printAll(inForce(claims).inForce))
    expect(found.length).toBeGreaterThan(4)
  })
})

/** Sources name their plant; those of every third plant do not, so that only `plant` tells them apart. */
function movedTo(plant: number, one: Claim): Claim {
  const named = plant % 3 === 0 ? PLANT : `plant-${plant}`
  const move = (source: string) => source.replace(`/plant/${PLANT}/`, `/plant/${named}/`)
  const moved = { ...one, plant: `plant-${plant}`, source: move(one.source) }
  if (one.joins) moved.joins = { ...one.joins, source: move(one.joins.source) }
  return moved
}

/** Writes the claims in place of all others, and reads which of them the view holds. */
async function readView({ pool }: Store, claims: readonly Claim[]): Promise<Claim[]> {
  const rows = claims.map(({ void: voids, joins, from, until, ...rest }, i) => ({
    ...rest,
    offset: i,
    voids,
    joins_source: joins?.source,
    joins_id: joins?.id,
    span_from: from,
    span_until: until,
  }))
  await pool.query('truncate statement')
  await pool.query(
    `insert into statement (topic, partition, "offset", plant, source, id, hash, recorded, about, rank,
       joins_source, joins_id, voids, slot, span_from, span_until, at, station, type, time, entered)
     select 'melt', 0, "offset", plant, source, id, hash, recorded, about, rank,
       joins_source, joins_id, voids, slot, span_from, span_until, 0, 'melt', 'any', 'any', '{}'
     from jsonb_to_recordset($1) as claim ("offset" bigint, plant text, source text, id text, hash text,
       recorded bigint, about text, rank smallint, joins_source text, joins_id text, voids boolean,
       slot text, span_from bigint, span_until bigint)`,
    [JSON.stringify(rows)],
  )
  const view = await pool.query<{ offset: string }>('select "offset" from in_force')
  return view.rows.map(({ offset }) => claims[Number(offset)]!)
}
