import { expect, test } from 'vitest'
import type { Receipt } from '../../services/stations/door.ts'
import { Tally } from '../../services/stations/tally.ts'

const receipt = (outcome: Receipt['outcome'], more: Partial<Receipt> = {}): Receipt => ({
  outcome,
  problems: [],
  flags: [],
  ...more,
})
const refused = (sentence: string) => receipt('refused', { problems: [{ field: 'kg', sentence }] })
const line = (number: number) => ({ number, length: 1 })

function listening(terminal: boolean) {
  const said: string[] = []
  const shown: string[] = []
  const show = terminal ? (text: string) => void shown.push(text) : undefined
  return { said, shown, tally: new Tally({ say: (text) => void said.push(text), show }) }
}

test('the summary counts what became of the lines', () => {
  const { tally } = listening(false)
  for (let n = 1; n <= 1_200; n++) tally.add(line(n), receipt('accepted'))
  tally.add(line(1_201), receipt('duplicate'))
  tally.add(line(1_202), receipt('accepted', { flags: ['id-reused'] }))
  tally.add(line(1_203), refused('kg is negative. Give 0 or more.'))
  expect(tally.summary('day.ndjson')).toEqual([
    'day.ndjson: 1,201 accepted, 1 duplicate, 1 refused.',
    'Flagged as unusual: 1.',
  ])
})

test('every refused line is said with its number, until there are too many', () => {
  const { said, tally } = listening(false)
  for (let n = 1; n <= 150; n++) tally.add(line(n * 2), refused('kg is negative. Give 0 or more.'))
  expect(said[0]).toBe('line 2: kg is negative. Give 0 or more.')
  expect(said).toHaveLength(101)
  expect(said.at(-1)).toBe('Further lines like that are only counted.')
  expect(tally.refused).toBe(150)
})

test('a line that went in flagged is named too, until there are too many', () => {
  const { said, tally } = listening(false)
  for (let n = 1; n <= 30; n++) tally.add(line(n), receipt('accepted', { flags: ['id-reused'] }))
  expect(said[0]).toBe('line 1: taken in, but id-reused')
  expect(said).toHaveLength(21)
})

test('what stood in the file cannot command the terminal', () => {
  const { said, tally } = listening(false)
  tally.add(line(1), refused('x\u001b[2Jy\rz\u202e is not known'))
  expect(said).toEqual(['line 1: x\ufffd[2Jy\ufffdz\ufffd is not known'])
})

test('on a terminal it shows how far it is, and clears that away before it speaks', () => {
  const { shown, tally } = listening(true)
  tally.begin({ to: 'the folder data', notes: [], take: async () => [], close: async () => {} })
  tally.add(line(1), receipt('accepted'))
  tally.add(line(2), refused('kg is negative.'))
  tally.end()
  expect(shown).toEqual([
    'Taking in to the folder data …',
    '1 lines: 1 accepted, 0 duplicate, 0 refused',
    '',
    '',
  ])
})

test('nothing in the file is said to be nothing', () => {
  const { tally } = listening(false)
  expect(tally.progress()).toBe('')
  expect(tally.summary('-')).toEqual(['The input is empty: there was nothing to take in.'])
})
