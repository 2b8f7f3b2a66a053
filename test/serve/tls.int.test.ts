import { execFile } from 'node:child_process'
import { join } from 'node:path'
import { promisify } from 'node:util'
import { expect, test, vi } from 'vitest'
import { withCluster } from '../log/real-broker.ts'
import { newFolder } from '../stations/folders.ts'
import { tap } from '../stations/said.ts'
import { measured, readyState, signedIn, startServices } from './processes.ts'

const users = { admin: 'admin-1' }
const PATIENCE = { timeout: 30_000, interval: 100 }
const TOPICS = join(import.meta.dirname, '../../services/log/topics-command.ts')

withCluster(
  'Brokers that speak TLS and ask who comes',
  { brokers: 1, users, tls: true },
  (cluster) => {
    /** As whoever sets it up says it: by settings alone. */
    const settings = (more: Record<string, string> = {}) => ({
      HEAT_TO_PAN_BROKERS: cluster().addresses.join(),
      ...{ HEAT_TO_PAN_USER: 'admin', HEAT_TO_PAN_PASSWORD: users.admin, HEAT_TO_PAN_TLS: '1' },
      ...more,
    })
    const trusting = () => settings({ NODE_EXTRA_CA_CERTS: cluster().authority })

    test('take what a door sends on, where their certificate is trusted', async () => {
      const made = await promisify(execFile)(process.execPath, [TOPICS], {
        env: { ...process.env, ...trusting(), HEAT_TO_PAN_PARTITIONS: '1' },
      })
      expect(made.stdout).toContain('melt made, 1 partitions in 1 copies')
      const door = startServices(['melt'], { ...trusting(), HEAT_TO_PAN_DATA: await newFolder() })
      const address = await door.address
      const { authorization } = await signedIn(address, 'station')
      const answer = await fetch(`${address}/events`, {
        method: 'POST',
        headers: { authorization, 'content-type': 'application/cloudevents+json' },
        body: JSON.stringify(tap(1)),
      })
      expect(answer.ok).toBe(true)
      await vi.waitFor(async () => {
        expect(await measured(address, 'heat_to_pan_forwarded_total')).toBe(1)
        expect(await readyState(address)).toEqual({ status: 'ready' })
      }, PATIENCE)
    })

    // Side by side, since a door tries for a while before it says so.
    test('are never sent anything where they are not trusted or TLS is off, and the door says why', async () => {
      const untrusting = settings()
      const plain = settings({
        ...{ NODE_EXTRA_CA_CERTS: cluster().authority, HEAT_TO_PAN_TLS: '0' },
      })
      const says = async (given: Record<string, string>) => {
        const door = startServices(['melt'], { ...given, HEAT_TO_PAN_DATA: await newFolder() })
        const address = await door.address
        const why = await vi.waitFor(() => {
          const told = door.lines.find(({ message }) => message.includes('do not get on'))
          expect(told).toBeDefined()
          return told!.message
        }, PATIENCE)
        expect(await measured(address, 'heat_to_pan_forwarded_total')).toBe(0)
        return why
      }
      const [untrusted, unencrypted] = await Promise.all([says(untrusting), says(plain)])
      expect(untrusted).toMatch(/certificate/)
      expect(unencrypted).toMatch(/do not get on.*\w/)
    })
  },
)
