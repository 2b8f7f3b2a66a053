import { expect, test, vi } from 'vitest'
import type { Span } from '../../services/log/log.ts'
import { Prompt } from '../../services/log/prompt.ts'

const SPANS: Span[] = [{ topic: 'melt', partition: 0, first: 0n, next: 7n }]

test('a log that answers is asked each time', async () => {
  let asked = 0
  const ends = new Prompt(async () => {
    asked++
    return SPANS
  })
  expect(await ends.ask()).toEqual(SPANS)
  expect(await ends.ask()).toEqual(SPANS)
  expect(asked).toBe(2)
})

test('one that does not answer is waited for once, and asked again when it does', async () => {
  const answer = Promise.withResolvers<Span[]>()
  let asked = 0
  const ends = new Prompt(() => {
    asked++
    return asked === 1 ? answer.promise : Promise.resolve(SPANS)
  })
  expect(await ends.ask()).toBeUndefined()
  const began = performance.now()
  for (let i = 0; i < 50; i++) expect(await ends.ask()).toBeUndefined()
  expect(performance.now() - began).toBeLessThan(500)
  expect(asked).toBe(1)
  answer.resolve(SPANS)
  await vi.waitFor(async () => expect(await ends.ask()).toEqual(SPANS))
})

test('one that refuses is not known, and asked again after a while', async () => {
  let asked = 0
  const ends = new Prompt(async () => {
    if (++asked === 1) throw new Error('away')
    return SPANS
  })
  expect(await ends.ask()).toBeUndefined()
  expect(await ends.ask()).toBeUndefined()
  expect(asked).toBe(1)
  await vi.waitFor(async () => expect(await ends.ask()).toEqual(SPANS), { timeout: 10_000 })
})
