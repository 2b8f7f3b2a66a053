import { expect, test } from 'vitest'
import { eventOfReport, type PlainReport } from '../../services/stations/plain-report.ts'
import { PLANT, tapData } from './said.ts'

const TIME = '2026-03-02T06:40:00-06:00'

function report(beside: Record<string, string>, over: Partial<PlainReport> = {}) {
  const made = eventOfReport({
    type: 'melt.heat-tapped',
    beside: new Map(Object.entries({ time: TIME, ...beside })),
    data: tapData(1),
    plantAddress: PLANT,
    ...over,
  })
  return 'event' in made ? made.event : made.problem
}

test('type, machine and plant make the source and the full type', () => {
  expect(report({ machine: 'furnace-1' })).toMatchObject({
    specversion: '1.0',
    type: 'melt.heat-tapped.v1',
    source: `${PLANT}/melt/furnace-1`,
    time: TIME,
    data: tapData(1),
  })
  expect(report({})).toMatchObject({ source: `${PLANT}/melt` })
  expect(report({ source: 'https://other.example/plant/x/melt' })).toMatchObject({
    source: 'https://other.example/plant/x/melt',
  })
})

test('an id given is kept, and one made depends on all that is said and on nothing else', () => {
  expect(report({ id: 'mine' })).toMatchObject({ id: 'mine' })
  const { id } = report({ machine: 'f1' }) as { id: string }
  const reordered = Object.fromEntries(Object.entries(tapData(1)).reverse())
  expect(report({ machine: 'f1' }, { data: reordered })).toMatchObject({ id })
  const others = [
    report({ machine: 'f2' }),
    report({ machine: 'f1', time: '2026-03-02T06:41:00-06:00' }),
    report({ machine: 'f1', supersedes: 'x' }),
    report({ machine: 'f1' }, { data: tapData(1, { kg: 1 }) }),
  ]
  expect(new Set([id, ...others.map((event) => (event as { id: string }).id)]).size).toBe(5)
})

test('what is missing or not known is named with the fix', () => {
  expect(report({}, { plantAddress: undefined })).toMatchObject({ path: 'source' })
  expect(report({ time: '' })).toMatchObject({
    path: 'time',
    fix: expect.stringContaining('offset'),
  })
  expect(report({ sorce: 'x' })).toMatchObject({ path: 'sorce', fix: 'Did you mean source?' })
  expect(report({}, { type: 'melt.heat-taped' })).toMatchObject({
    path: 'type',
    fix: 'Did you mean melt.heat-tapped.v1?',
  })
  expect(report({}, { data: tapData(1, { heat: '\ud800' }) })).toMatchObject({ path: 'data' })
})
