import { expect, test } from 'vitest'
import { Measures } from '../../services/watch/measures.ts'

// The form is that of https://prometheus.io/docs/instrumenting/exposition_formats/, version 0.0.4.

test('what is counted is added up for each set of labels', async () => {
  const measures = new Measures()
  const count = measures.counter('events_total', 'Events.')
  count({ station: 'melt', outcome: 'accepted' })
  count({ station: 'melt', outcome: 'accepted' }, 3)
  count({ station: 'pour', outcome: 'refused' })
  expect(await measures.text()).toBe(`# HELP events_total Events.
# TYPE events_total counter
events_total{station="melt",outcome="accepted"} 4
events_total{station="pour",outcome="refused"} 1
`)
})

test('what cannot be read is left out, and the rest is told', async () => {
  const measures = new Measures()
  measures.gauge('lag', 'Lag.', () => [[{ topic: 'a "b" \\ c\n' }, 7]])
  measures.gauge('away', 'Away.', () => Promise.reject(new Error('the database is away')))
  measures.gauge('broken', 'Broken.', () => {
    throw new Error('broken')
  })
  expect(await measures.text()).toBe(`# HELP lag Lag.
# TYPE lag gauge
lag{topic="a \\"b\\" \\\\ c\\n"} 7
# HELP away Away.
# TYPE away gauge
# HELP broken Broken.
# TYPE broken gauge
`)
})

test('durations fall below their bounds, and are summed', async () => {
  const measures = new Measures()
  const took = measures.durations('write_seconds', 'Writes.')
  for (const seconds of [0.001, 0.04, 0.05, 30]) took({ as: 'slice' }, seconds)
  const lines = (await measures.text()).split('\n')
  expect(lines[1]).toBe('# TYPE write_seconds histogram')
  const below = lines.filter((line) => line.startsWith('write_seconds_bucket'))
  expect(below.map((line) => Number(line.split(' ').at(-1)))).toEqual([
    1, 1, 1, 3, 3, 3, 3, 3, 3, 3, 3, 4,
  ])
  expect(below.at(-1)).toBe('write_seconds_bucket{as="slice",le="+Inf"} 4')
  expect(lines.at(-3)).toBe('write_seconds_sum{as="slice"} 30.091')
  expect(lines.at(-2)).toBe('write_seconds_count{as="slice"} 4')
})

test('a name is given once', () => {
  const measures = new Measures()
  measures.counter('same', 'One.')
  expect(() => measures.counter('same', 'Another.')).toThrow('same is measured twice')
})
