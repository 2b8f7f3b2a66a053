import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import type { Ask } from '../../services/desk/frame/ask.ts'
import { Asked } from '../../services/desk/frame/asked.ts'

const WHAT: Ask<{ figure: number }, { of: string }> = { document: 'x', operation: 'X' }

let answer: (figure: number) => void

beforeEach(() => {
  vi.useFakeTimers()
  vi.stubGlobal('fetch', () => {
    const { promise, resolve } = Promise.withResolvers<Response>()
    answer = (figure) => resolve(new Response(JSON.stringify({ data: { figure } })))
    return promise
  })
})

afterEach(() => {
  vi.useRealTimers()
  vi.unstubAllGlobals()
})

const isShown = ({ standing }: Asked<{ figure: number }, { of: string }>) =>
  standing.is === 'asking' && standing.shown

it('A question says that it is worked on, once that is worth saying', async () => {
  const asked = new Asked(WHAT, () => undefined)
  const asking = asked.ask({ of: 'a' })
  await vi.advanceTimersByTimeAsync(399)
  expect(isShown(asked)).toBe(false)
  await vi.advanceTimersByTimeAsync(1)
  expect(isShown(asked)).toBe(true)
  answer(1)
  await asking
  expect(asked.standing).toEqual({ is: 'answered', data: { figure: 1 } })
})

it('The same asked again lets its answer stand unmoved, and is told where it takes long', async () => {
  const asked = new Asked(WHAT, () => undefined)
  const asking = asked.ask({ of: 'a' })
  answer(1)
  await asking
  const again = asked.again()
  await vi.advanceTimersByTimeAsync(4_999)
  expect(isShown(asked)).toBe(false)
  expect(asked.data).toEqual({ figure: 1 })
  await vi.advanceTimersByTimeAsync(1)
  expect(asked.standing).toMatchObject({ is: 'asking', shown: true, slow: true })
  answer(2)
  await again
  expect(asked.data).toEqual({ figure: 2 })
})
