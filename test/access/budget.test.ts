import { expect, test } from 'vitest'
import { budgetOf } from '../../services/access/budget.ts'

test('lets ask for what is there, and says when more will be', () => {
  let nowMs = 0
  const take = budgetOf({ most: 100, perSecond: 10, now: () => nowMs })
  expect([take('kim', 60), take('kim', 40)]).toEqual([0, 0])
  expect(take('kim', 25)).toBe(3)
  expect(take('lee', 100)).toBe(0)
  nowMs = 2_400
  expect(take('kim', 25)).toBe(1)
  nowMs = 2_500
  expect(take('kim', 25)).toBe(0)
  expect(take('kim', 1)).toBe(1)
  nowMs = 3_600_000
  expect(take('kim', 101)).toBe(0)
  expect(take('kim', 1)).toBe(1)
})

test('counts no better for being asked in small parts, and worse for no clock set back', () => {
  let nowMs = 1_000_000
  const take = budgetOf({ most: 50, perSecond: 1, now: () => nowMs })
  let taken = 0
  for (let i = 0; i < 500; i++) if (take('kim', 1) === 0) taken++
  expect(taken).toBe(50)
  nowMs = 0
  expect(take('kim', 1)).toBeGreaterThan(0)
})

test('forgets those who have not asked for long, and nobody else', () => {
  let nowMs = 0
  const take = budgetOf({ most: 10, perSecond: 1, now: () => nowMs })
  for (let i = 0; i < 10_000; i++) take(`old-${i}`, 10)
  nowMs = 9_000
  take('kim', 10)
  nowMs = 10_000
  take('new', 10)
  expect(take('kim', 2)).toBe(1)
})
