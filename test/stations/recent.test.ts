import fc from 'fast-check'
import { expect, test } from 'vitest'
import { contentHash } from '../../services/events/canonical.ts'
import { Recent } from '../../services/stations/recent.ts'

const hash = (content: unknown) =>
  contentHash({ type: 'melt.heat-tapped.v1', time: '', data: { content: String(content) } })

test('a key knows each of its contents, and forgets one that is taken back', () => {
  const recent = new Recent()
  expect(recent.add('k', hash('a'))).toBe('news')
  expect(recent.add('k', hash('b'))).toBe('reused')
  expect(recent.add('k', hash('a'))).toBe('said')
  recent.remove('k', hash('a'))
  expect(recent.add('k', hash('b'))).toBe('said')
  expect(recent.add('k', hash('a'))).toBe('reused')
  recent.remove('k', hash('a'))
  recent.remove('k', hash('b'))
  expect(recent.add('k', hash('b'))).toBe('news')
})

test('the same content under another key is news', () => {
  const recent = new Recent()
  recent.add('k', hash('a'))
  expect(recent.add('l', hash('a'))).toBe('news')
})

test('what was said longest ago goes first', () => {
  const recent = new Recent(1_000)
  for (let i = 0; i <= 1_000; i++) recent.add(`k${i}`, hash('a'))
  expect(recent.add('k1', hash('a'))).toBe('said')
  expect(recent.add('k0', hash('a'))).toBe('news')
  expect(recent.add('k1', hash('a'))).toBe('news')
  expect(recent.add('k3', hash('a'))).toBe('said')
})

test('one key for everything makes no long search', () => {
  const recent = new Recent()
  for (let i = 0; i < 20_000; i++) recent.add('k', hash(i))
  expect(recent.add('k', hash(19_999))).toBe('said')
  expect(recent.add('k', hash(1))).toBe('reused')
})

/** The last that were added, and of each key the last 8 of them. */
class Model {
  readonly #size: number
  #added: ({ key: string; hash: string } | undefined)[] = []

  constructor(size: number) {
    this.#size = size
  }

  add(key: string, hash: string): 'news' | 'reused' | 'said' {
    const ofKey = this.#added.filter((each) => each?.key === key)
    if (ofKey.some((each) => each?.hash === hash)) return 'said'
    if (ofKey.length === 8) this.remove(key, ofKey[0]!.hash)
    this.#added = [...this.#added, { key, hash }].slice(-this.#size)
    return ofKey.length === 0 ? 'news' : 'reused'
  }

  remove(key: string, hash: string): void {
    this.#added = this.#added.map((each) =>
      each?.key === key && each.hash === hash ? undefined : each,
    )
  }
}

test('it remembers what a plain list would', () => {
  const step = fc.record({
    remove: fc.boolean(),
    key: fc.integer({ min: 0, max: 9 }).map(String),
    content: fc.integer({ min: 0, max: 11 }),
  })
  const steps = fc.array(step, { minLength: 20, maxLength: 200 })
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 30 }), steps, (size, said) => {
      const [recent, model] = [new Recent(size), new Model(size)]
      for (const { remove, key, content } of said) {
        if (remove) {
          recent.remove(key, hash(content))
          model.remove(key, hash(content))
        } else expect(recent.add(key, hash(content))).toBe(model.add(key, hash(content)))
      }
    }),
  )
})
