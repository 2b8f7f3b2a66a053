import { expect, test } from 'vitest'
import { RECENT_KEYS, Recent } from '../../services/stations/recent.ts'

const hash = (letter: string) => letter.repeat(64)

test('a key knows each of its contents, and forgets one that is taken back', () => {
  const recent = new Recent()
  recent.add('k', hash('a'))
  recent.add('k', hash('b'))
  expect([recent.said('k', hash('a')), recent.said('k', hash('b'))]).toEqual([true, true])
  expect(recent.said('k', hash('c'))).toBe(false)
  recent.remove('k', hash('a'))
  expect([recent.said('k', hash('a')), recent.said('k', hash('b'))]).toEqual([false, true])
  recent.remove('k', hash('b'))
  expect(recent.has('k')).toBe(false)
})

test('it holds so many keys, and the one longest not heard of goes first', () => {
  const recent = new Recent()
  for (let i = 0; i < RECENT_KEYS; i++) recent.add(`k${i}`, hash('a'))
  recent.add('k0', hash('b'))
  recent.add('one more', hash('a'))
  expect(recent.has('k0')).toBe(true)
  expect(recent.has('k1')).toBe(false)
  expect(recent.has('k2')).toBe(true)
})

test('a key used again and again with other content keeps the newest of them', () => {
  const recent = new Recent()
  for (let i = 0; i < 100; i++) recent.add('k', String(i).padStart(64, '0'))
  expect(recent.said('k', String(99).padStart(64, '0'))).toBe(true)
  expect(recent.said('k', String(1).padStart(64, '0'))).toBe(false)
})
