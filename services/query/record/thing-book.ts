import type { Kind, Name } from '../../events/fact.ts'
import type { Things } from '../../metal/things.ts'
import type { PlantName } from '../../store/dictionary.ts'

/** What the store's numbers stand for, as far as facts have named them. */
export class ThingBook implements Things {
  #names: (Name | undefined)[] = []
  #plants: string[] = []
  #kinds: Kind[] = []
  #numbers = new Map<string, number>()

  has(no: number): boolean {
    return this.#names[no] !== undefined
  }

  add(no: number, { plant, name }: PlantName): void {
    this.#names[no] = name
    this.#plants[no] = plant
    this.#kinds[no] = name.slice(0, name.indexOf(':')) as Kind
    this.#numbers.set(`${plant}/${name}`, no)
  }

  kind(no: number): Kind {
    return this.#kinds[no]!
  }

  plant(no: number): string {
    return this.#plants[no]!
  }

  /** `kind:id`. */
  name(no: number): Name {
    return this.#names[no] ?? `thing ${no}`
  }

  numberOf(plant: string, name: Name): number | undefined {
    return this.#numbers.get(`${plant}/${name}`)
  }
}
