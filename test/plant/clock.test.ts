import { describe, expect, it } from 'vitest'
import { Bell, Clock, type Process, Rack } from '../../services/plant/clock.ts'

describe('The clock', () => {
  it('does things in the order of their time, and at one time in the order they were asked for', () => {
    const clock = new Clock(0)
    const done: string[] = []
    const times = [50, 10, 30, 10, 40, 20, 10]
    times.forEach((ms, i) => {
      clock.at(ms, () => done.push(`${clock.now} ${i}`))
    })
    clock.run()
    expect(done).toEqual(['10 1', '10 3', '10 6', '20 5', '30 2', '40 4', '50 0'])
  })

  it('lets a process wait for time and for a bell', () => {
    const clock = new Clock(100)
    const rack = new Rack<string>()
    const seen: string[] = []
    function* maker(): Process {
      yield 5
      rack.put('a')
      yield 5
      rack.put('b')
    }
    function* taker(): Process {
      while (seen.length < 2) {
        while (rack.things.length === 0) yield rack.bell
        seen.push(`${clock.now} ${rack.things.shift()}`)
        yield 20
      }
    }
    clock.start(taker())
    clock.start(maker())
    clock.run()
    expect(seen).toEqual(['105 a', '125 b'])
  })

  it('ends when all that is left waits for a bell nobody rings', () => {
    const clock = new Clock(0)
    function* waiter(): Process {
      yield new Bell()
      throw new Error('nobody rang')
    }
    clock.start(waiter())
    clock.run()
    expect(clock.now).toBe(0)
  })
})
