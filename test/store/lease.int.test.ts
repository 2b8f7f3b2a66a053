import { expect, it } from 'vitest'
import { Leases } from '../../services/store/lease.ts'
import { onEachDatabase } from './databases.ts'

const all = Array.from({ length: 7 }, (_, partition) => ({ topic: 'melt', partition }))
const names = (places: { partition: number }[]) => places.map(({ partition }) => partition).sort()

onEachDatabase('Leases of partitions', (database) => {
  it('give everything to whoever is alone', async () => {
    const one = new Leases(database.store, 'alone')
    expect(names(await one.share(all, []))).toEqual([0, 1, 2, 3, 4, 5, 6])
    expect(names(await one.share(all, all))).toEqual([0, 1, 2, 3, 4, 5, 6])
  })

  it('are given up to a newcomer only when they are out of hand', async () => {
    const [one, two] = [new Leases(database.store, 'two'), new Leases(database.store, 'two')]
    await one.share(all, [])
    expect(await two.share(all, [])).toEqual([])
    const kept = await one.share(all, all)
    expect(kept).toHaveLength(4)
    expect(await two.share(all, [])).toEqual([])
    await one.share(all, kept)
    const taken = await two.share(all, [])
    expect(names([...kept, ...taken])).toEqual([0, 1, 2, 3, 4, 5, 6])
  })

  it('of one reader are nothing to another', async () => {
    await new Leases(database.store, 'genealogy').share(all, [])
    expect(await new Leases(database.store, 'audit').share(all, [])).toHaveLength(7)
  })

  it('go at once when their holder leaves, and by themselves when it has died', async () => {
    const [one, two] = [new Leases(database.store, 'gone'), new Leases(database.store, 'gone')]
    await one.share(all, [])
    await one.share([], [])
    expect(await two.share(all, [])).toHaveLength(7)
    await database.store.pool.query(`update lease set until = now() - interval '1 second'`)
    await database.store.pool.query(`update worker set until = now() - interval '1 second'`)
    const three = new Leases(database.store, 'gone')
    expect(await three.share(all, [])).toHaveLength(7)
    expect(await two.share(all, all)).toEqual([])
  })
})
