import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { find, notOne } from '../../services/query/things/name.ts'
import { Asking } from './asking.ts'
import { DAY } from './small-plant.ts'

let asking: Asking
beforeAll(async () => {
  asking = await Asking.start()
  await asking.record.say(...DAY)
})
afterAll(() => asking?.[Symbol.asyncDispose]())

const byMark = (mark: string, asOf?: number) => find(asking.context(), { mark }, asOf)
const byId = (id: string) => find(asking.context(), { id })
const byScan = (scan: string) => find(asking.context(), { scan })

describe('A mark', () => {
  it.each(['K26-0412-B7', 'k26-0412-b7', 'K260412B7', ' K26 0412 B7 ', 'K26–0412–B7'])(
    'written as "%s" is that of one pack',
    async (mark) => {
      expect(await byMark(mark)).toMatchObject({ found: 'one', name: 'pack:K-1' })
    },
  )

  it('with a sign nobody can read is every pack it could be', async () => {
    const found = await byMark('K26-0412-B?')
    expect(found).toMatchObject({ found: 'several', written: 'K26-0412-B?' })
    const fits = found.found === 'several' ? found.candidates.map(({ fit }) => fit) : []
    expect(fits).toEqual([0.5, 0.5])
  })

  it('that several packs bear is unclear, and says why each is proposed', async () => {
    const found = await byMark('SAME')
    if (found.found !== 'several') throw new Error('Two packs bear it.')
    const unclear = notOne(asking.context(), found)
    expect(unclear).toMatchObject({ __typename: 'Unclear', written: 'SAME' })
    const { thing } = await asking.ask('{ thing(by: { mark: "SAME" }) { id } }')
    expect(thing).toBe(null)
    const { origins } = await asking.ask(
      '{ origins(of: { mark: "SAME" }) { ... on Unclear { written candidates { thing { id } because fit } } } }',
    )
    expect(origins.candidates).toEqual([
      { thing: { id: 'pack:K-3' }, because: 'it bears the mark SAME', fit: 0.5 },
      { thing: { id: 'pack:K-2' }, because: 'it bears the mark SAME', fit: 0.5 },
    ])
  })

  it('that no pack bears is not known, with marks one sign away', async () => {
    expect(await byMark('K26-0412-B9')).toMatchObject({
      found: 'none',
      near: ['K26-0412-B7', 'K26-0412-B8'],
    })
  })

  it('that was not on any pack yet is not known as of then', async () => {
    const noon = Date.parse('2026-03-02T12:00:00-06:00')
    expect(await byMark('K26-0412-B7', noon)).toMatchObject({ found: 'none' })
  })

  it('may be the serial of a piece', async () => {
    expect(await byMark('SN-1')).toMatchObject({ found: 'one', name: 'pan:SN-1' })
  })

  it.each([
    '',
    '??',
    '???????',
    '%',
    '_'.repeat(3),
    'K_6-0412-B7',
    "' or '1'='1",
    'zero\u0000',
    'x'.repeat(101),
  ])('such as "%s" finds nothing and breaks nothing', async (mark) => {
    expect(await byMark(mark)).toMatchObject({ found: 'none' })
  })
})

describe('An id', () => {
  it('is exact', async () => {
    expect(await byId('lot:PI-77')).toMatchObject({ found: 'one', name: 'lot:PI-77' })
    expect(await byId('lot:pi-77')).toMatchObject({ found: 'none' })
    expect(await byId('north/lot:PI-77')).toMatchObject({ found: 'one', name: 'lot:PI-77' })
    expect(await byId('south/lot:PI-77')).toMatchObject({ found: 'none' })
  })

  it('that nobody has named is not known, with ids one sign away', async () => {
    expect(await byId('lot:PI-78')).toMatchObject({ found: 'none', near: ['lot:PI-77'] })
  })

  it.each([
    '',
    'lot',
    'lot:',
    ':PI-77',
    'bread:1',
    'lot:PI 77',
    'line:2',
    'inspection:I-1',
    'lot:\u0000',
    `lot:${'x'.repeat(70)}`,
  ])('such as "%s" is none, and the sentence says how one is written', async (id) => {
    const found = await byId(id)
    expect(found).toMatchObject({ found: 'none', near: [] })
  })
})

describe('A scan', () => {
  it.each([
    ['K26-0412-B7', 'pack:K-1'],
    ['pack:K-3', 'pack:K-3'],
    ['(01)09521234500018(10)K26-0412-B7', 'pack:K-1'],
    [']C10109521234500018' + '10K26-0412-B7', 'pack:K-1'],
    [']d2010952123450001810K26-0412-B7\x1d21SN-2', 'pan:SN-2'],
    ['https://id.example/01/09521234500018/10/K26-0412-B7', 'pack:K-1'],
    ['https://id.example/gtin/01/09521234500018/10/K26-0412-B7/21/SN-1?x=1', 'pan:SN-1'],
    ['(01)09521234500018(10)K-2', 'pack:K-2'],
    ['(01)09521234500018(10)PI-77', 'lot:PI-77'],
  ])('of %j is %s', async (scan, name) => {
    expect(await byScan(scan)).toMatchObject({ found: 'one', name })
  })

  it('that names nothing of ours says so', async () => {
    const found = await byScan('(01)09521234500018(10)NOBODY')
    expect(found).toMatchObject({ found: 'none', written: '(01)09521234500018(10)NOBODY' })
  })
})
