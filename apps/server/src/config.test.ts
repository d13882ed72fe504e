// Proves     settings are checked together, and the command line wins over the environment
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import { readConfig, settingRows } from './config.ts';

describe('settings', () => {
  it('have defaults for everything', () => {
    expect(readConfig({ PATH: '/bin', EBBLINE_PORT: '' })).toMatchObject({
      dataFolder: './data',
      port: 8080,
      host: '127.0.0.1',
      secureCookie: false,
      listPeople: true,
    });
  });

  it('tell every fault at once, by name', () => {
    const refused = readConfig({
      EBBLINE_PORT: 'eighty',
      EBBLINE_NOTICE_URL: 'file:///etc/passwd',
      EBBLINE_SECURE_COOKIE: 'maybe',
    });
    expect(isRefusal(refused) && refused.code).toBe('server/config');
    for (const name of ['EBBLINE_PORT', 'EBBLINE_NOTICE_URL', 'EBBLINE_SECURE_COOKIE'])
      expect(isRefusal(refused) && refused.found).toContain(name);
  });

  it('of TLS come in pairs, make the cookie one for TLS, and proxies are addresses', () => {
    const refused = readConfig({ EBBLINE_TLS_CERT: 'a.pem', EBBLINE_PROXY: 'my-proxy', EBBLINE_PORT: 'x' });
    for (const said of ['one without the other', 'EBBLINE_PROXY', 'EBBLINE_PORT'])
      expect(isRefusal(refused) && refused.found).toContain(said);
    expect(
      readConfig({
        EBBLINE_TLS_CERT: 'a.pem',
        EBBLINE_TLS_KEY: 'b.pem',
        EBBLINE_PROXY: '10.0.0.5, fd00::1,10.1.0.0/16',
      }),
    ).toMatchObject({
      tls: { certPath: 'a.pem', keyPath: 'b.pem' },
      secureCookie: true,
      trustedProxies: ['10.0.0.5', 'fd00::1', '10.1.0.0/16'],
    });
  });

  it('of prints and figures are off until they are set', () => {
    expect(readConfig({})).toMatchObject({ downtime: undefined, metrics: undefined, tls: undefined });
    expect(
      readConfig({ EBBLINE_DOWNTIME: '/a', EBBLINE_METRICS_PORT: '9464' }, { downtime: '/prints' }),
    ).toMatchObject({
      downtime: { folder: '/prints', keep: 24 },
      metrics: { host: '127.0.0.1', port: 9464 },
    });
  });

  it('are told row by row, each with what it is for', () => {
    const rows = settingRows();
    expect(rows.length).toBeGreaterThan(15);
    for (const { name, what } of rows) {
      expect(name).toMatch(/^EBBLINE_[A-Z_]+$/);
      expect(what, name).not.toBe('');
    }
  });

  it('from the command line win', () => {
    expect(
      readConfig({ EBBLINE_PORT: '1234', EBBLINE_DATA: 'a' }, { port: '4321', data: 'b' }),
    ).toMatchObject({ port: 4321, dataFolder: 'b' });
  });
});
