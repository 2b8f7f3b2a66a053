import { describe, expect, it } from 'vitest'
import { Truth } from '../../services/plant/truth.ts'

/** Two charges through one furnace that keeps 300 kg, a pour of each, and gates of the first. */
function twoHeats(): Truth {
  const truth = new Truth()
  const node = (name: string) => truth.metal.node(name)
  truth.metal.receive(node('lot:A'), 5000)
  truth.metal.receive(node('lot:B'), 5000)
  truth.metal.flow(node('lot:A'), node('furnace:f1'), 1000)
  truth.metal.flow(node('furnace:f1'), node('pour:1'), 700)
  truth.metal.flow(node('lot:B'), node('furnace:f1'), 700)
  truth.metal.flow(node('furnace:f1'), node('pour:2'), 500)
  truth.metal.flow(node('pour:1'), node('lot:G'), 300)
  truth.metal.flow(node('lot:G'), node('furnace:f1'), 300)
  truth.metal.flow(node('furnace:f1'), node('pour:3'), 800)
  return truth
}

describe('The truth', () => {
  it('follows metal through heels and returns', () => {
    const truth = twoHeats()
    // 300 of 1000 kg; then 500 kg at 0.3 A left, and 300 kg of A again: 450 of 800.
    expect(truth.metal.shareOf('pour:1', 'lot:A')).toBe(1)
    expect(truth.metal.shareOf('pour:2', 'lot:A')).toBeCloseTo(0.3, 12)
    expect(truth.metal.shareOf('pour:3', 'lot:A')).toBeCloseTo(450 / 800, 12)
    expect(truth.metal.shareOf('pour:3', 'lot:B')).toBeCloseTo(350 / 800, 12)
  })

  it('says backward what it says forward', () => {
    const truth = twoHeats()
    for (const pour of ['pour:1', 'pour:2', 'pour:3']) {
      const lots = truth.metal.lotsOf(pour)
      for (const lot of ['lot:A', 'lot:B']) {
        expect(lots.get(lot) ?? 0).toBeCloseTo(truth.metal.shareOf(pour, lot), 12)
      }
    }
  })

  it('knows each casting by what it is, its way and its place', () => {
    const truth = new Truth()
    const unit = truth.castings.unit('P1', 'pan', '2')
    const castings = [
      truth.castings.cast(unit),
      truth.castings.cast(unit),
      truth.castings.cast(unit),
    ]
    truth.castings.handle(castings, 'load:L1')
    truth.castings.handle(castings.slice(0, 2), 'load:L2')
    truth.castings.spoil(castings[0]!, 'blister')
    truth.castings.put(castings.slice(1, 2), 'pack:K1')
    const same = { pour: 'P1', product: 'pan', cavity: '2', castings: 1 }
    expect([...truth.castings.groups()]).toEqual([
      { ...same, path: ['load:L1', 'load:L2'], place: 'load:L2', flaws: ['blister'] },
      { ...same, path: ['load:L1', 'load:L2'], place: 'pack:K1', flaws: [] },
      { ...same, path: ['load:L1'], place: 'load:L1', flaws: [] },
    ])
  })
})
