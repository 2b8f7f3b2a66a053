import { describe, expect, it } from 'vitest'
import { addressOfThing, nextOf, questionsOf } from '../../services/desk/words/next-questions.ts'
import { PAGES } from '../../services/query/server/desk.ts'

describe('A question that leads on', () => {
  it.each([
    ['ORIGINS', 'pack:PK1', '/origins?of=pack%3APK1'],
    ['REACH', 'lot:X', '/reach?from=lot%3AX'],
    ['INQUIRY', 'K26-0412-B7', '/inquiry?mark=K26-0412-B7'],
    ['RATES', 'lot:X', '/rates?by=LOT&lot=lot%3AX'],
    ['NODE', 'recall:R-1', '/recall?of=recall%3AR-1'],
    ['NODE', 'drill:D-1', '/drill?of=drill%3AD-1'],
    ['NODE', 'report:melt/0/1', '/report?of=report%3Amelt%2F0%2F1'],
    ['CALLS', null, '/calls'],
  ])('goes to the page that answers %s of %s', (question, of, address) => {
    expect(nextOf({ sentence: 'What?', question, of })).toEqual({ sentence: 'What?', address })
  })

  it('is left out where no page answers it', () => {
    expect(nextOf({ sentence: 'What?', question: 'BATH', of: 'F1' })).toBeUndefined()
  })

  it.each(['quality', 'service', 'analyst', 'admin'])('leads a %s to pages there are', (role) => {
    const pages = questionsOf([role]).map(({ address }) => address.slice(1))
    expect(pages.length).toBeGreaterThan(0)
    expect(pages.filter((page) => !PAGES.has(page))).toEqual([])
  })

  it('offers a rep nothing of the plant', () => {
    const addresses = questionsOf(['service']).map(({ address }) => address)
    expect(addresses).toEqual(['/inquiry', '/calls', '/waiting'])
  })

  it('offers each once to whoever has several roles', () => {
    const sentences = questionsOf(['quality', 'service', 'analyst']).map((next) => next.sentence)
    expect(new Set(sentences).size).toBe(sentences.length)
  })

  it('shows what has no page by its reports', () => {
    expect(addressOfThing('lot:X')).toBe('/report?of=lot%3AX')
  })
})
