import { array, assert, asyncProperty, integer, string, uint8Array } from 'fast-check'
import { expect, test } from 'vitest'
import { type Line, linesOf } from '../../services/stations/lines.ts'
import { runs } from '../runs.ts'

async function* cut(bytes: Uint8Array, sizes: readonly number[]): AsyncGenerator<Buffer> {
  const buffer = Buffer.from(bytes)
  for (let at = 0, i = 0; at < buffer.length; i++) {
    const size = sizes[i % sizes.length]!
    yield buffer.subarray(at, at + size)
    at += size
  }
}

async function lines(stream: AsyncIterable<Buffer>, most = 64): Promise<Line[]> {
  const all: Line[] = []
  for await (const some of linesOf(stream, most)) all.push(...some)
  return all
}

test('however the bytes arrive, the lines are the same, and each is whole or named too long', () =>
  assert(
    asyncProperty(
      array(uint8Array({ maxLength: 90 }), { maxLength: 12 }),
      array(integer({ min: 1, max: 50 }), { minLength: 1, maxLength: 6 }),
      async (parts, sizes) => {
        const bytes = Buffer.concat(parts.flatMap((part) => [part, Buffer.from('\n')]))
        const expected = bytes
          .toString('latin1')
          .split('\n')
          .map((text, i) => ({ number: i + 1, text, length: text.length }))
          .filter(({ text }) => text.length > 64 || /[^\0-\x20]/.test(text))
        const found = await lines(cut(bytes, sizes))
        expect(found.map(({ number, length }) => ({ number, length }))).toEqual(
          expected.map(({ number, length }) => ({ number, length })),
        )
        expect(found.map(({ bytes }) => bytes?.toString('latin1'))).toEqual(
          expected.map(({ text }) => (text.length > 64 ? undefined : text)),
        )
      },
    ),
    runs(2_000),
  ))

test('the last line needs no newline, and an empty stream has no line', async () => {
  expect(await lines(cut(Buffer.from('{}\n\n {"a":1}'), [3]))).toMatchObject([
    { number: 1, length: 2 },
    { number: 3, length: 8 },
  ])
  expect(await lines(cut(Buffer.alloc(0), [1]))).toEqual([])
})

test('text of any language comes through whole', () =>
  assert(
    asyncProperty(array(string({ unit: 'grapheme', minLength: 1 })), async (texts) => {
      const kept = texts.filter((text) => !text.includes('\n') && text.trim() !== '')
      const bytes = Buffer.from(kept.join('\n'))
      const found = await lines(cut(bytes, [1, 2, 7]), 10_000)
      expect(found.map(({ bytes }) => bytes!.toString())).toEqual(kept)
    }),
    { numRuns: 500 },
  ))
