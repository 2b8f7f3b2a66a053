import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { readList } from '../../services/store/read-lists.ts'
import { Asking } from './asking.ts'
import { PLANT, type Saying, sourceOf } from './record.ts'
import { DAY } from './small-plant.ts'

interface Node {
  node: { id: string }
}

/** The ids of a whole list, page by page. */
async function walk(asking: Asking, field: string, args = '', between = async () => {}) {
  const ids: string[] = []
  let after: string | null = null
  do {
    const answer = await asking.ask(
      `query ($after: String) { ${field}(first: 2, after: $after ${args}) {
        edges { node { id } } pageInfo { hasNextPage endCursor } } }`,
      { after },
    )
    const { edges, pageInfo } = answer[field]
    ids.push(...edges.map(({ node }: Node) => node.id))
    after = pageInfo.hasNextPage ? pageInfo.endCursor : null
    await between()
  } while (after !== null)
  return ids
}

describe('Lists of a day', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(...DAY)
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  it.each([
    ['lots', '', ['lot:RET-1', 'lot:OIL-3', 'lot:IN-9', 'lot:PI-77']],
    ['lots', 'material: "pig iron"', ['lot:PI-77']],
    ['lots', 'material: "gates"', ['lot:RET-1']],
    ['charges', '', ['charge:C-2', 'charge:C-1']],
    ['charges', 'recipe: "R10"', ['charge:C-1']],
    ['heats', '', ['heat:H-2', 'heat:H-1']],
    ['heats', 'furnace: "F1"', ['heat:H-2', 'heat:H-1']],
    ['heats', 'furnace: "F9"', []],
    ['ladles', '', ['ladle:L-2', 'ladle:L-1']],
    ['sands', '', ['sand:SD-1']],
    ['molds', 'line: "2"', ['molds:M-2', 'molds:M-1']],
    ['pours', 'line: "2"', ['pour:P-2', 'pour:P-1']],
    ['pours', 'line: "3"', []],
    ['loads', '', ['load:LD-1']],
    ['loads', 'step: BLAST, machine: "BL-1"', ['load:LD-1']],
    ['loads', 'step: BLAST, machine: "OVEN-2"', []],
    ['loads', 'step: STRIP', []],
    ['packs', '', ['pack:K-4', 'pack:K-3', 'pack:K-2', 'pack:K-1']],
    ['packs', 'product: "lid 10"', ['pack:K-3', 'pack:K-2']],
    ['pans', '', ['pan:SN-2', 'pan:SN-1']],
    ['shipments', '', ['shipment:SH-1']],
    ['inspections', 'stage: "after bake"', ['inspection:I-1']],
    ['inspections', 'stage: "before bake"', []],
  ])('%s(%s) are whole, newest first, and counted', async (field, args, ids) => {
    expect(await walk(asking, field, args)).toEqual(ids)
    const { [field]: counted } = await asking.ask(
      `{ ${field}${args && `(${args})`} { totalCount } }`,
    )
    expect(counted.totalCount).toBe(ids.length)
  })

  it('take in the start of a window and leave out its end', async () => {
    const window = (from: string, to: string) =>
      `window: { from: "2026-03-02T${from}:00-06:00", to: "2026-03-02T${to}:00-06:00" }`
    expect(await walk(asking, 'packs', window('13:00', '13:20'))).toEqual(['pack:K-2', 'pack:K-1'])
    expect(await walk(asking, 'loads', window('09:00', '09:20'))).toEqual(['load:LD-1'])
    expect(await walk(asking, 'loads', window('12:00', '13:00'))).toEqual([])
  })

  it('hide nothing and repeat nothing while packs are packed between two pages', async () => {
    let next = 0
    const ids = await walk(asking, 'packs', '', async () => {
      next++
      await asking.record.say({
        type: 'ship.pans-packed.v1',
        time: `2026-03-02T15:0${next}:00-06:00`,
        data: { pack: `LATE-${next}`, marks: [], lines: [{ product: 'lid 10', castings: 1 }] },
      })
    })
    expect(ids).toEqual(['pack:K-4', 'pack:K-3', 'pack:K-2', 'pack:K-1'])
    expect(new Set(await walk(asking, 'packs'))).toEqual(
      new Set([...ids, 'pack:LATE-1', 'pack:LATE-2']),
    )
  })

  it('show a load once, by its latest handling that fits', async () => {
    await asking.record.say({
      type: 'clean.load-washed.v1',
      time: '2026-03-02T09:40:00-06:00',
      data: {
        load: 'LD-2',
        castings: 5,
        startedAt: '2026-03-02T09:35:00-06:00',
        endedAt: '2026-03-02T09:40:00-06:00',
      },
    })
    expect(await walk(asking, 'loads')).toEqual(['load:LD-1', 'load:LD-2'])
    const until = 'window: { from: "2026-03-02T09:00:00-06:00", to: "2026-03-02T09:45:00-06:00" }'
    expect(await walk(asking, 'loads', until)).toEqual(['load:LD-2', 'load:LD-1'])
  })
})

describe('A list of 20,000 packs', () => {
  const PACKS = 20_000
  const listed = { plant: PLANT, sorts: ['pack-line'] as const }
  let asking: Asking

  beforeAll(async () => {
    asking = await Asking.start()
    const template: Saying = {
      type: 'ship.pans-packed.v1',
      time: '2026-03-02T06:00:00-06:00',
      data: { pack: 'K-0', marks: ['M-0'], lines: [{ product: 'lid 10', castings: 4 }] },
    }
    await asking.record.say(template)
    await copyPacks(asking, PACKS - 1)
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  it('is paged from any place without reading what lies before it', async () => {
    const { pool } = asking.record.store
    const read = async (most: number, after?: { at: number; no: number }) =>
      readList(pool, listed, { most, after, asOf: Number.MAX_SAFE_INTEGER })
    const top = await read(200)
    expect(top).toHaveLength(200)
    const middle = await read(200, { at: top[0]!.at - 10_000 * 1000, no: 0 })
    expect(middle[0]!.at).toBe(top[0]!.at - 10_001 * 1000)
    const end = await read(200, { at: top[0]!.at - 19_900 * 1000, no: 0 })
    expect(end).toHaveLength(99)
    // However deep the page, the database looks at as many rows as the page holds, and a few more.
    const plan = await pool.query(
      `explain (analyze, format json) select distinct at, of_no from fact
       where what = 'pack-line' and (at, of_no) < ($1::bigint, 0)
       order by at desc, of_no desc limit 201`,
      [top[0]!.at - 10_000 * 1000],
    )
    expect(rowsRead(plan.rows[0]['QUERY PLAN'][0].Plan)).toBeLessThan(1000)
  })

  it('answers a page with what is in each pack', async () => {
    const first = await asking.ask('{ packs(first: 1) { pageInfo { endCursor } } }')
    const [list, asked, asOf] = JSON.parse(
      Buffer.from(first.packs.pageInfo.endCursor, 'base64url').toString(),
    )
    const place = [1772452800000 + 12_000_000, 0]
    const after = Buffer.from(JSON.stringify([list, asked, asOf, ...place])).toString('base64url')
    const { packs } = await asking.ask(
      `query ($after: String) { packs(first: 200, after: $after) {
        edges { node { id marks castings { value } } } pageInfo { hasNextPage } } }`,
      { after },
    )
    expect(packs.edges).toHaveLength(200)
    expect(packs.edges[0].node).toEqual({
      id: 'pack:K-11999',
      marks: ['M-11999'],
      castings: { value: 4 },
    })
    expect(packs.pageInfo.hasNextPage).toBe(true)
  })

  it('is counted as a whole, less what was taken back', async () => {
    const count = async () => (await asking.ask('{ packs { totalCount } }')).packs.totalCount
    expect(await count()).toBe(PACKS)
    await asking.record.say({
      type: 'quality.record-voided.v1',
      time: '2026-03-10T09:00:00-06:00',
      data: {
        event: {
          source: sourceOf('ship'),
          id: 'copy-7',
          type: 'ship.pans-packed.v1',
          subject: 'pack:K-7',
        },
        reason: 'never packed',
        by: 'q1',
      },
    })
    expect(await count()).toBe(PACKS - 1)
  })
})

/** Copies the one statement there is, a second apart, with its facts. */
async function copyPacks(asking: Asking, copies: number): Promise<void> {
  const { pool } = asking.record.store
  const numbered = `from generate_series(1, ${copies}) as i`
  await pool.query(
    `insert into thing (no, plant, kind, name) overriding system value
     select 1000 + i, '${PLANT}', 'pack', 'K-' || i ${numbered}`,
  )
  await pool.query(
    `insert into statement ("offset", at, recorded, partition, subject_no, rank, voids, topic, plant, station,
       source, id, type, time, hash, about, slot, entered)
     select s."offset" + i, s.at + 1000 * i, s.recorded, s.partition, 1000 + i, s.rank, s.voids, s.topic, s.plant,
       s.station, s.source, 'copy-' || i, s.type, s.time, md5(i::text),
       replace(s.about, 'K-0', 'K-' || i), replace(s.slot, 'K-0', 'K-' || i),
       replace(replace(s.entered::text, 'K-0', 'K-' || i), 'M-0', 'M-' || i)::jsonb
     from statement s, generate_series(1, ${copies}) as i`,
  )
  await pool.query(
    `insert into fact (topic, partition, "offset", n, what, of_no, amount, at, detail)
     select f.topic, f.partition, f."offset" + i, f.n, f.what, 1000 + i, f.amount, f.at + 1000 * i,
       replace(f.detail::text, 'M-0', 'M-' || i)::jsonb
     from fact f, generate_series(1, ${copies}) as i`,
  )
  await pool.query(`update position set next_offset = next_offset + ${copies}`)
  await pool.query('vacuum analyze')
}

interface Plan {
  'Actual Rows': number
  'Rows Removed by Filter'?: number
  Plans?: Plan[]
}

function rowsRead(plan: Plan): number {
  const own = plan['Actual Rows'] + (plan['Rows Removed by Filter'] ?? 0)
  return (plan.Plans ?? []).reduce((sum, part) => sum + rowsRead(part), own)
}
