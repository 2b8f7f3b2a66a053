// Who of the readers inside this process reads which partition, and how far each has been taken.
// Among processes the readers share by something of their own (Reader.share): a Kafka group would
// do it too, with less of our code, but stops all partitions whenever one member dies, for as long as
// its session lasts; what the readers keep in their database stops the dead one's alone.
import type { PartitionName } from '../log.ts'
import type { LogError } from '../log-error.ts'

export interface Member {
  /** Told when what is its may have changed. */
  wake(): void
  /** Told when a partition has been taken further, or will not be. */
  moved(): void
}

export class LocalGroup {
  readonly #members: Member[] = []
  readonly #holder = new Map<string, Member>()
  readonly #taken = new Map<string, bigint>()
  /** Why a partition is not read any more. */
  readonly #stopped = new Map<string, LogError>()

  join(member: Member): void {
    this.#members.push(member)
    this.#wakeAll()
  }

  leave(member: Member): void {
    const place = this.#members.indexOf(member)
    if (place < 0) return
    this.#members.splice(place, 1)
    for (const [name, holder] of this.#holder) if (holder === member) this.#free(name)
    this.#wakeAll()
  }

  /** What is this member's by right; it may have to wait until another lets go. */
  share(member: Member, all: readonly PartitionName[]): PartitionName[] {
    const place = this.#members.indexOf(member)
    const sorted = all.toSorted((a, b) => (nameOf(a) < nameOf(b) ? -1 : 1))
    return sorted.filter((_, i) => i % this.#members.length === place)
  }

  /** Takes a partition up; false while another has it. */
  claim(place: PartitionName, member: Member): boolean {
    const name = nameOf(place)
    if ((this.#holder.get(name) ?? member) !== member) return false
    this.#holder.set(name, member)
    return true
  }

  release(place: PartitionName): void {
    this.#free(nameOf(place))
    this.#wakeAll()
  }

  isHeld(place: PartitionName): boolean {
    return this.#holder.has(nameOf(place))
  }

  taken(place: PartitionName, next: bigint): void {
    this.#taken.set(nameOf(place), next)
    for (const member of this.#members) member.moved()
  }

  stopped(place: PartitionName, reason: LogError): void {
    this.#stopped.set(nameOf(place), reason)
    for (const member of this.#members) member.moved()
  }

  /** Why nothing more of it will be taken; undefined while it may. */
  whyStopped(place: PartitionName): LogError | undefined {
    return this.#stopped.get(nameOf(place))
  }

  hasTaken(place: PartitionName, end: bigint): boolean {
    return (this.#taken.get(nameOf(place)) ?? -1n) >= end
  }

  #free(name: string): void {
    this.#holder.delete(name)
    this.#stopped.delete(name)
  }

  #wakeAll(): void {
    for (const member of this.#members) member.wake()
  }
}

export function nameOf({ topic, partition }: PartitionName): string {
  return `${topic}/${partition}`
}
