import { expect, test } from 'vitest'
import { journalOver } from '../../services/watch/journal.ts'

function journal(terminal: boolean) {
  const lines: string[] = []
  const write = (line: string) => lines.push(line)
  const now = () => Date.UTC(2026, 2, 2)
  return { lines, ...journalOver({ service: 'melt', terminal, write, now }) }
}

test('a terminal is shown sentences, and what is too much for it is left out', () => {
  const { tell, alarm, note, lines } = journal(true)
  tell('It answers.', { address: 'here' })
  alarm('It does not.')
  note('GET /events 200')
  expect(lines).toEqual(['It answers.', 'It does not.'])
})

test('elsewhere each fact is one line of JSON with its time, its weight and whose it is', () => {
  const { tell, warn, alarm, note, lines } = journal(false)
  tell('Two\nlines.')
  warn('Set aside.', { topic: 'melt', offset: 2n ** 60n, trace_id: undefined })
  alarm('Stopped.')
  note('GET /events 200', { status: 200 })
  const written = { time: '2026-03-02T00:00:00.000Z', service: 'melt' }
  expect(lines.map((line) => JSON.parse(line))).toEqual([
    { ...written, level: 'info', message: 'Two\nlines.' },
    {
      ...written,
      level: 'warning',
      message: 'Set aside.',
      topic: 'melt',
      offset: String(2n ** 60n),
    },
    { ...written, level: 'error', message: 'Stopped.' },
    { ...written, level: 'info', message: 'GET /events 200', status: 200 },
  ])
  expect(lines.every((line) => !line.includes('\n'))).toBe(true)
})
