// What a text in hand is, on the small plant.
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { rolesOfFields } from '../../services/query/seen-by.ts'
import { Asking, someone } from './asking.ts'
import { DAY } from './small-plant.ts'

const TRACING = `readAs sentence tried things { offset length written id kind label
  candidates { id label because fit } asks { sentence question of } }`
const REP = `readAs sentence tried marks { offset length written mark candidates { mark because fit } asks { question of } }`

let asking: Asking
beforeAll(async () => {
  asking = await Asking.start()
  await asking.record.say(...DAY)
})
afterAll(() => asking?.[Symbol.asyncDispose]())

const inHand = async (text: string, who = someone('quality')) => {
  const fields = who.roles.has('service') ? REP : TRACING
  const source = `query ($text: String!) { inHand(text: $text) { ${fields} } }`
  return (await asking.ask(source, { text }, who)).inHand
}
const rep = someone('service')

describe('A text in hand', () => {
  it('is one thing when typed, by its number alone or with its kind, whatever the case', async () => {
    for (const [text, id] of [
      ['lot PI-77', 'lot:PI-77'],
      ['pi-77', 'lot:PI-77'],
      ['lot:PI-77', 'lot:PI-77'],
      ['R-2', 'lot:PI-77'],
      ['Heat no. H-1', 'heat:H-1'],
      ['SN-1', 'pan:SN-1'],
      ['k26 0412 b7', 'pack:K-1'],
      ['bay-4', 'bin:bay-4'],
    ] as const) {
      const { readAs, things } = await inHand(text)
      expect([text, readAs, things.map((thing: { id: string }) => thing.id)]).toEqual([
        text,
        'TYPED',
        [id],
      ])
    }
  })

  it('is what a scanner gives: an element string, a link, a code in brackets', async () => {
    for (const text of [
      '010952123450001810K26-0412-B7',
      ']C1010952123450001810K26-0412-B7\x1d21SN-9',
      '(01)09521234500018(10)K26-0412-B7',
      'https://pans.example/01/09521234500018/10/K26-0412-B7',
    ]) {
      const { readAs, things } = await inHand(text)
      expect([text, readAs, things[0]?.id, things[0]?.length]).toEqual([
        text,
        'SCANNED',
        'pack:K-1',
        text.length,
      ])
    }
  })

  it('is a mail with things at their places', async () => {
    const text = `Good morning,\nyour lots R-1 and IN-9 went into heat H-2; the 41 blisters of 1,180
were on K26-0412-B7, and on load LD-1 (see https://pans.example/01/09521234500018/10/K26-0412-B8).`
    const { readAs, things, sentence } = await inHand(text)
    expect(readAs).toBe('PASTED')
    expect(things.map((thing: { id: string }) => thing.id)).toEqual([
      'lot:PI-77',
      'lot:IN-9',
      'heat:H-2',
      'pack:K-1',
      'load:LD-1',
      'pack:K-2',
    ])
    for (const { offset, length, written } of things)
      expect(text.slice(offset, offset + length)).toBe(written)
    expect(sentence).toContain('lot PI-77')
  })

  it('is unclear where it may be several things, each with its fit', async () => {
    const [same] = (await inHand('SAME')).things
    expect(same).toMatchObject({ id: null, kind: 'pack', asks: [] })
    expect(same.candidates.map(({ id }: { id: string }) => id).sort()).toEqual([
      'pack:K-2',
      'pack:K-3',
    ])
    const [smudged] = (await inHand('K26-0412-B?')).things
    expect(smudged.candidates.map(({ fit }: { fit: number }) => fit)).toEqual([0.5, 0.5])
  })

  it('that is not known says what was tried, and what looks like it, which is never taken for it', async () => {
    const { things, sentence, tried } = await inHand('QQ-404')
    expect(things).toEqual([])
    expect(tried).toContain('marks of packs')
    expect(sentence).toContain('Tried: marks of packs')
    const [misread] = (await inHand('K26-0412-87')).things
    expect(misread.id).toBe(null)
    expect(misread.candidates[0]).toMatchObject({
      id: 'pack:K-1',
      because: 'it has B where 8 is written',
    })
    const [one] = (await inHand('PI-7T')).things
    expect(one).toMatchObject({ id: null, asks: [] })
  })

  it('may be the number of an answer, in a printed link too', async () => {
    const { reach } = await asking.ask(
      `{ reach(from: {things: ["lot:PI-77"]}, affected: {share: 0.01}) { ... on Reach { id } } }`,
    )
    for (const text of [reach.id, `https://desk.example/answers/${encodeURIComponent(reach.id)}`]) {
      const [thing] = (await inHand(text)).things
      expect(thing).toMatchObject({ id: reach.id, kind: 'reach' })
    }
    expect((await inHand(reach.id, someone('analyst'))).things).toEqual([])
  })

  it('tells a rep of marks alone, and nothing of what else there is', async () => {
    const text = 'two pans, sleeve says K26-0412-B7; lot PI-77, heat H-1, load LD-1 and pan SN-1'
    const { marks } = await inHand(text, rep)
    expect(marks.map(({ mark }: { mark: string }) => mark)).toEqual(['K26-0412-B7', 'SN-1'])
    expect(marks[0].asks).toEqual([{ question: 'INQUIRY', of: 'K26-0412-B7' }])
    const known = JSON.stringify(await inHand('lot PI-77', rep))
    const unknown = JSON.stringify(await inHand('lot PI-00', rep))
    expect(known).toBe(unknown)
    expect(await asking.codeOf('{ inHand(text: "x1") { things { id } } }', {}, rep)).toBe(
      'FORBIDDEN',
    )
  })

  it('is one mark to a rep, however many packs bear it', async () => {
    const { marks } = await inHand('SAME', rep)
    expect(marks).toMatchObject([{ mark: 'SAME', candidates: [] }])
  })

  it('is no shipment to an analyst', async () => {
    expect((await inHand('shipment SH-1')).things).toHaveLength(1)
    expect((await inHand('shipment SH-1', someone('analyst'))).things).toEqual([])
  })

  it('offers no question that is closed to the reader', async () => {
    const roles = rolesOfFields(asking.schema)
    const fields: Record<string, string> = {
      ...{ ORIGINS: 'origins', REACH: 'reach', INQUIRY: 'inquiry', BATH: 'bath', NODE: 'node' },
      ...{ RECONCILE: 'reconcile', RATES: 'defectRates', COMPLAINTS: 'complaints' },
    }
    const text = 'lot PI-77 heat H-1 pour P-1 load LD-1 pack K-1 furnace F1 sand SD-1 molds M-1'
    for (const role of ['quality', 'analyst', 'service'] as const) {
      const { things = [], marks = [] } = await inHand(text, someone(role))
      const asks = [...things, ...marks].flatMap(({ asks }) => asks)
      expect(asks.length).toBeGreaterThan(0)
      for (const { question } of asks)
        expect(roles.get(`Query.${fields[question]}`), `${role} ${question}`).toContain(role)
    }
  })

  it('may have 8,000 signs and no more, and is read in little time', async () => {
    const words = 'the pack K26-0412-B7 of lot PI-77 was bad; '
    const text = words.repeat(200).slice(0, 8000)
    const { things } = await inHand(text)
    expect(things).toHaveLength(50)
    const source = 'query ($text: String!) { inHand(text: $text) { sentence } }'
    expect(await asking.codeOf(source, { text: 'x'.repeat(8001) })).toBe('BAD_USER_INPUT')
  })
})
