import { expect, test } from 'vitest'
import { behind } from '../../services/serve/lag.ts'

const span = (topic: string, partition: number, first: bigint, next: bigint) => {
  return { topic, partition, first, next }
}

test('what is not read yet is counted by topic, from where each partition begins', () => {
  const spans = [span('melt', 0, 0n, 10n), span('melt', 1, 5n, 9n), span('pour', 0, 3n, 3n)]
  const read = new Map([['melt/0', 7n]])
  expect(behind(spans, read)).toEqual(
    new Map([
      ['melt', 7],
      ['pour', 0],
    ]),
  )
})

test('what was read since the end was asked for does not make up for what is missing elsewhere', () => {
  const spans = [span('melt', 0, 0n, 10n), span('melt', 1, 0n, 10n)]
  const read = new Map([
    ['melt/0', 30n],
    ['melt/1', 9n],
  ])
  expect(behind(spans, read).get('melt')).toBe(1)
})
