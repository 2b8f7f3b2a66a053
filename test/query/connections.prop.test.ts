import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Key, type ListName, page, pageOfList } from '../../services/query/connections.ts'
import { runs } from '../runs.ts'

interface Row {
  at: number
  no: number
}

const rows = fc.uniqueArray(
  fc.record({ at: fc.integer({ min: 0, max: 20 }), no: fc.nat(1_000_000) }),
  { selector: ({ no }) => no, maxLength: 60 },
)
const sizes = fc.integer({ min: 1, max: 9 })

const newestFirst = (a: Row, b: Row) => b.at - a.at || b.no - a.no

/** A list that may grow between two pages, read by key as a database reads it. */
function pageOf(
  held: () => Row[],
  first: number,
  after: string | null,
  { args = {}, ...name }: Partial<ListName> & { args?: object } = {},
) {
  return page(
    { first, after, ...args },
    {
      ...{ list: 'rows', ...name },
      parts: ['integer', 'integer'],
      rows(key, most) {
        const sorted = held().toSorted(newestFirst)
        const rest = key
          ? sorted.filter((row) => newestFirst({ at: +key[0]!, no: +key[1]! }, row) < 0)
          : sorted
        return rest.slice(0, most)
      },
      key: ({ at, no }: Row): Key => [at, no],
      edges: (shown) => shown.map((node) => ({ node })),
      count: () => held().length,
    },
  )
}

async function walk(held: () => Row[], first: number, between: () => void = () => undefined) {
  const seen: Row[] = []
  let after: string | null = null
  while (true) {
    const { edges, pageInfo } = await pageOf(held, first, after)
    expect(pageInfo.hasPreviousPage).toBe(after !== null)
    expect(edges.map(({ cursor }) => cursor).at(-1) ?? null).toBe(pageInfo.endCursor)
    seen.push(...edges.map(({ node }) => node))
    if (!pageInfo.hasNextPage) return seen
    after = pageInfo.endCursor
    between()
  }
}

describe('Pages', () => {
  it('put together are the list, each row once', async () => {
    await fc.assert(
      fc.asyncProperty(rows, sizes, async (held, first) => {
        expect(await walk(() => held, first)).toEqual(held.toSorted(newestFirst))
      }),
      runs(2000),
    )
  })

  it('repeat nothing and hide nothing that was there when rows come in between', async () => {
    await fc.assert(
      fc.asyncProperty(rows, rows, sizes, async (before, coming, first) => {
        const numbers = new Set(before.map(({ no }) => no))
        const held = [...before]
        const late = coming.filter(({ no }) => !numbers.has(no))
        const seen = await walk(
          () => held,
          first,
          () => {
            const next = late.pop()
            if (next) held.push(next)
          },
        )
        expect(new Set(seen).size).toBe(seen.length)
        expect(before.filter((row) => !seen.includes(row))).toEqual([])
      }),
      runs(2000),
    )
  })

  it('of a list held in falling or rising order come out the same', async () => {
    await fc.assert(
      fc.asyncProperty(rows, sizes, fc.boolean(), async (held, first, rising) => {
        const sorted = held.toSorted(rising ? (a, b) => newestFirst(b, a) : newestFirst)
        const seen: Row[] = []
        let after: string | null = null
        do {
          const next: Awaited<ReturnType<typeof pageOfList<Row, { node: Row }>>> = await pageOfList(
            sorted,
            { first, after },
            ({ at, no }) => [at, no],
            (node) => ({ node }),
            { list: 'rows' },
          )
          seen.push(...next.edges.map(({ node }) => node))
          after = next.pageInfo.hasNextPage ? next.pageInfo.endCursor : null
        } while (after !== null)
        expect(seen).toEqual(sorted)
      }),
      runs(2000),
    )
  })

  it('take no cursor but their own, whatever is made of it', async () => {
    const held = [{ at: 3, no: 7 }]
    const own = (await pageOf(() => held, 1, null)).pageInfo.endCursor!
    await fc.assert(
      fc.asyncProperty(
        fc.oneof(
          fc.string(),
          fc.base64String(),
          fc.json().map((text) => Buffer.from(text).toString('base64url')),
          fc.nat(own.length - 1).map((i) => own.slice(0, i)),
          fc.string({ minLength: 1 }).map((more) => own + more),
        ),
        async (after) => {
          fc.pre(after !== own)
          const asked = pageOf(() => held, 1, after)
          await expect(asked).rejects.toMatchObject({ extensions: { code: 'BAD_CURSOR' } })
        },
      ),
      runs(2000),
    )
  })

  it('take no cursor of another list, another question or another moment', async () => {
    const held = [3, 2, 1].map((no) => ({ at: no, no }))
    const asked = { of: 'heat:H-1', asOf: 1_772_455_200_000, args: { product: 'P1' } }
    const cursor = (await pageOf(() => held, 1, null, asked)).pageInfo.endCursor
    const next = (more: object) => pageOf(() => held, 2, cursor, { ...asked, ...more })
    expect((await next({})).edges.map(({ node }) => node.no)).toEqual([2, 1])
    const refused = async (more: object, sentence: RegExp) =>
      expect(next(more)).rejects.toMatchObject({
        message: expect.stringMatching(sentence),
        extensions: { code: 'BAD_CURSOR' },
      })
    const written = { args: { place: null, product: 'P1', standing: undefined } }
    expect((await next(written)).edges.map(({ node }) => node.no)).toEqual([2, 1])
    await refused({ list: 'others' }, /no cursor of this list/)
    await refused({ of: 'heat:H-2' }, /another question/)
    await refused({ args: { product: 'P2' } }, /another question/)
    await refused({ args: {} }, /another question/)
    await refused(
      { asOf: 1_772_455_300_000 },
      /as of 2026-03-02T12:40:00.000Z, and this is the one as of 2026-03-02T12:41:40.000Z: give asOf: "2026-03-02T12:40:00.000Z"/,
    )
    await refused({ asOf: Number.MAX_SAFE_INTEGER }, /and this is the one as of now/)
  })
})
