import { execFileSync } from 'node:child_process'
import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { parse } from 'yaml'
import { STATIONS } from '../../services/events/fact.ts'
import { settingsFrom } from '../../services/settings.ts'
import { servicesFrom } from '../../services/start.ts'
import { roleOf } from '../../services/store/rights.ts'

// No container engine is needed: what these files say is held against what is in the repository.

const ROOT = join(import.meta.dirname, '../..')
const read = (file: string) => readFileSync(join(ROOT, file), 'utf8')
const manifest = JSON.parse(read('package.json')) as {
  version: string
  dependencies: Record<string, string>
}

interface Container {
  image: string
  build?: string
  command?: string[]
  entrypoint?: string[]
  environment: Record<string, string>
  ports?: string[]
  volumes?: string[]
  depends_on?: Record<string, { condition: string }>
  healthcheck?: { disable?: boolean }
  container_name?: string
  read_only?: boolean
  stop_grace_period?: string
}

const compose = parse(read('docker-compose.yml'), { merge: true }) as {
  services: Record<string, Container>
  volumes: Record<string, null>
}
const containers = Object.entries(compose.services)
const ours = containers.filter(([, { build }]) => build !== undefined)
/** These make something and end. */
const MAKERS = ['topics', 'token', 'rights']
const running = ours.filter(([name]) => !MAKERS.includes(name))
const DOORS = STATIONS.filter((station) => station !== 'quality')

/** With every ${NAME:-value} as it is when nobody sets NAME. */
function defaults(environment: Record<string, string>): Record<string, string> {
  const plain = Object.entries(environment).map(([name, value]) => {
    return [name, value.replaceAll(/\$\{\w+:-([^}]*)\}/g, '$1')]
  })
  return Object.fromEntries(plain)
}

describe('docker-compose.yml', () => {
  test('has a broker, a database, keys, a door for each station, genealogy and query', () => {
    const expected = ['kafka', 'postgres', 'logins', ...MAKERS, ...DOORS, 'genealogy', 'query']
    expect(Object.keys(compose.services).sort()).toEqual(expected.sort())
  })

  test('makes every service of ours from one image of this version, and pins the others', () => {
    expect(new Set(ours.map(([, { image }]) => image))).toEqual(
      new Set([`heat-to-pan:${manifest.version}`]),
    )
    for (const [, { image }] of containers)
      expect(image).toMatch(/^[\w/-]+:\d+\.\d+(\.\d+)?(-\w+)?$/)
    expect(compose.services.kafka!.image).toMatch(/^apache\/kafka:4\./)
    expect(compose.services.postgres!.image).toMatch(/^postgres:17\./)
  })

  test('starts services that there are', () => {
    for (const [name, { command = [], entrypoint }] of running) {
      expect(entrypoint).toBeUndefined()
      expect(command).toEqual([name])
      expect(() => servicesFrom(command)).not.toThrow()
    }
    for (const maker of MAKERS) {
      const [program, file] = compose.services[maker]!.entrypoint!
      expect(program).toBe('node')
      expect(existsSync(join(ROOT, file!))).toBe(true)
    }
  })

  test('sets what settings.ts reads, to what it takes', () => {
    const known = new Set(read('services/settings.ts').match(/HEAT_TO_PAN_[A-Z_]+/g))
    for (const [name, { environment }] of ours) {
      expect(Object.keys(environment).filter((each) => !known.has(each))).toEqual([])
      const { kafka, databaseUrl, names } = settingsFrom(defaults(environment))
      const meetsBrokers = name !== 'token' && name !== 'rights'
      expect(kafka?.brokers).toEqual(meetsBrokers ? ['kafka:9092'] : undefined)
      if (!MAKERS.includes(name)) expect(names).toEqual([name])
      expect(databaseUrl !== undefined).toBe(['genealogy', 'query', 'rights'].includes(name))
    }
  })

  test('signs each process in to the database as somebody who may do its part and no more', () => {
    const login = (name: string) =>
      new URL(settingsFrom(defaults(compose.services[name]!.environment)).databaseUrl!)
    const logins = compose.services.logins!
    const sql = logins.command!.join()
    for (const [name, duty] of [
      ['genealogy', 'project'],
      ['query', 'read'],
    ] as const) {
      expect(login(name).username).toBe(name)
      expect(sql).toContain(`grant ${roleOf(duty)} to ${name};`)
      // The password that is set is the one it signs in with.
      expect(sql).toContain(`alter role ${name} password :'${duty}';`)
      const given = defaults(logins.environment)[`${duty.toUpperCase()}_PASSWORD`]
      expect(login(name).password).toBe(given)
    }
    expect(login('rights').username).toBe(compose.services.postgres!.environment.POSTGRES_USER)
    expect(logins.environment.PGUSER).toBe(login('rights').username)
    expect(logins.depends_on!.rights!.condition).toBe('service_completed_successfully')
  })

  test('lets each container have time to stop in', () => {
    for (const [, { environment, stop_grace_period }] of ours) {
      const { stopSeconds } = settingsFrom(defaults(environment))
      expect(Number.parseInt(stop_grace_period!, 10)).toBeGreaterThan(stopSeconds)
    }
  })

  test('publishes on the loopback alone, under the number the process itself has', () => {
    const ports = containers.flatMap(([name, { ports = [], environment }]) =>
      ports.map((port) => ({ name, port, own: environment.HEAT_TO_PAN_PORT ?? '4000' })),
    )
    // Requests are addressed to the published port, and a house answers to its own number only.
    for (const { port, own } of ports) expect(port).toBe(`127.0.0.1:${own}:${own}`)
    expect(ports.map(({ name }) => name).sort()).toEqual([...DOORS, 'query'].sort())
    expect(new Set(ports.map(({ port }) => port)).size).toBe(ports.length)
  })

  test('can run genealogy several times', () => {
    const { container_name, ports, volumes } = compose.services.genealogy!
    expect([container_name, ports, volumes]).toEqual([undefined, undefined, undefined])
  })

  test('keeps what each door took in on a volume of its own', () => {
    for (const station of DOORS)
      expect(compose.services[station]!.volumes).toEqual([`${station}:/data`, 'keys:/keys:ro'])
    const used = containers.flatMap(([, { volumes = [] }]) =>
      volumes.map((volume) => volume.split(':')[0]!),
    )
    expect([...new Set(used)].sort()).toEqual(Object.keys(compose.volumes).sort())
  })

  test('lets query ask every door what waits there', () => {
    const { HEAT_TO_PAN_DOORS } = compose.services.query!.environment
    const doors = DOORS.map((station) => {
      return `http://${station}:${compose.services[station]!.environment.HEAT_TO_PAN_PORT}`
    })
    expect(HEAT_TO_PAN_DOORS).toBe(doors.join())
  })

  test('shows the keys of tokens to those who check them, and the secret to nobody else', () => {
    const { HEAT_TO_PAN_KEY } = compose.services.query!.environment
    expect(HEAT_TO_PAN_KEY).toBe('/keys/key.json')
    expect(compose.services.token!.volumes).toEqual(['signing:/keys', 'keys:/keys/public'])
    const secret = containers.filter(([, { volumes = [] }]) => volumes.join().includes('signing'))
    expect(secret.map(([name]) => name)).toEqual(['token'])
  })

  test('waits for what can be waited for', () => {
    const dockerHealth = read('Dockerfile').includes('HEALTHCHECK')
    for (const [, { depends_on = {} }] of containers)
      for (const [other, { condition }] of Object.entries(depends_on)) {
        const { healthcheck, build } = compose.services[other]!
        if (condition === 'service_healthy')
          expect(healthcheck !== undefined || (build !== undefined && dockerHealth)).toBe(true)
        else {
          expect([...MAKERS, 'logins']).toContain(other)
          expect(condition).toBe('service_completed_successfully')
        }
      }
  })
})

describe('Dockerfile', () => {
  const lines = read('Dockerfile')
    .replaceAll('\\\n', ' ')
    .split('\n')
    .filter((line) => line && !line.startsWith('#'))
  const stages = lines.join('\n').split(/^(?=FROM )/m)
  const image = stages.at(-1)!
  const tracked = execFileSync('git', ['ls-files', '--cached', '--others', '--exclude-standard'], {
    cwd: ROOT,
    encoding: 'utf8',
  }).split('\n')

  test('is made from a pinned Node 24, slim', () => {
    for (const stage of stages) expect(stage).toMatch(/^FROM node:24\.\d+\.\d+-slim\b/)
    expect(stages).toHaveLength(2)
  })

  test('copies what is in the repository, and the client from where it is made', () => {
    const ignored = read('.dockerignore').split('\n')
    for (const stage of stages)
      for (const [, words] of stage.matchAll(/^COPY (?!--from)(.+)$/gm))
        for (const source of words!.split(' ').slice(0, -1)) {
          expect(tracked.some((file) => file === source || file.startsWith(source + '/'))).toBe(
            true,
          )
          expect(ignored).toContain(`!${source}`)
        }
    expect(image).toContain('COPY --from=client /app/prisma/client prisma/client')
  })

  test('runs as nobody in particular, without what only development needs', () => {
    expect(image).toContain('npm ci --omit=dev --omit=optional --omit=peer')
    expect(image.match(/^USER .*$/gm)).toEqual(['USER node'])
    expect(image.indexOf('USER node')).toBeLessThan(image.indexOf('ENTRYPOINT'))
  })

  test('starts what npm start starts, and asks it how it is', () => {
    const entrypoint = /^ENTRYPOINT \["node", "(.*)"\]$/m.exec(image)?.[1]
    expect(JSON.parse(read('package.json')).scripts.start).toContain(entrypoint)
    expect(image).toMatch(/^HEALTHCHECK .*\/health/m)
    const known = new Set(read('services/settings.ts').match(/HEAT_TO_PAN_[A-Z_]+/g))
    expect((image.match(/HEAT_TO_PAN_[A-Z_]+/g) ?? []).filter((each) => !known.has(each))).toEqual(
      [],
    )
  })

  test('has every package that the services import', () => {
    // Made for the repository only, and run there; pages come built from the stage before.
    const inside = tracked.filter(
      (file) => /^services\/.*\.ts$/.test(file) && !/publish|^services\/desk\//.test(file),
    )
    const packages = inside.flatMap((file) =>
      [...read(file).matchAll(/(?:from |import\()'([^.'][^']*)'/g)]
        .map(([, name]) => name!)
        .filter((name) => !name.startsWith('node:'))
        .map((name) =>
          name
            .split('/')
            .slice(0, name.startsWith('@') ? 2 : 1)
            .join('/'),
        ),
    )
    const missing = packages.filter((name) => !(name in manifest.dependencies))
    expect(packages.length).toBeGreaterThan(5)
    expect(missing).toEqual([])
  })
})
