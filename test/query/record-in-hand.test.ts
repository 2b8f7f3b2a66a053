import { expect, it } from 'vitest'
import { RecordInHand, type Told } from '../../services/query/record/record-in-hand.ts'

it('takes in at once more than a function takes arguments', () => {
  const record = new RecordInHand()
  record.things.add(1, { plant: 'north', name: 'sand:S-1' })
  const told = Array.from({ length: 150_000 }, (_, i) => {
    const said = { spans: [], tie: i }
    const fact = { what: 'measured', of: 1, at: i, quantity: 'moisture', amount: 3, unit: 'P1' }
    return {
      ...{ about: `mold.sand-mulled ${i}`, source: 'a', id: `${i}`, hash: `${i}`, recorded: i + 1 },
      ...{ rank: 2, void: false, said, facts: [{ fact, said, n: 0 }], noted: false },
    } as unknown as Told
  })
  record.take(told)
  expect(record.at().view.book.all('measured')).toHaveLength(150_000)
})
