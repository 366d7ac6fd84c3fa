// Opens pages in headless Chromium and checks them: no violation of axe-core's rules, light and
// dark, on a phone and on a desk; no request but for the file itself; where asked, one sheet of A4,
// and sound that plays.
// usage: node axe.mjs CHROMIUM AXE.JS PAGE... [--one-sheet PAGE...] [--plays PAGE...]
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [chromium, axePath, ...rest] = process.argv.slice(2);
const lists = { pages: [], '--one-sheet': [], '--plays': [] };
let list = 'pages';
for (const word of rest) {
    if (word in lists) list = word;
    else lists[list].push(word);
}
const { pages, '--one-sheet': sheets, '--plays': sounding } = lists;
const axe = readFileSync(axePath, 'utf8');

// The DevTools protocol over a pipe: messages end with a zero byte.
function start(profile) {
    const child = spawn(chromium, ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic',
        '--no-first-run', '--disable-background-networking', '--disable-component-update',
        '--disable-sync', '--mute-audio', `--user-data-dir=${profile}`, '--remote-debugging-pipe', 'about:blank'],
    { stdio: ['ignore', 'ignore', 'ignore', 'pipe', 'pipe'], detached: true });
    const waiting = new Map();
    const listeners = [];
    let buffer = '';
    let number = 0;
    child.stdio[4].setEncoding('utf8').on('data', (chunk) => {
        const parts = (buffer + chunk).split('\0');
        buffer = parts.pop();
        for (const message of parts.map((part) => JSON.parse(part))) {
            if (message.id !== undefined) {
                const { done, failed } = waiting.get(message.id);
                waiting.delete(message.id);
                if (message.error) failed(new Error(message.error.message));
                else done(message.result);
            } else {
                listeners.forEach((listener) => listener(message));
            }
        }
    });
    child.on('exit', () => waiting.forEach(({ failed }) => failed(new Error('Chromium ended'))));
    const send = (method, params = {}, sessionId) => new Promise((done, failed) => {
        waiting.set(++number, { done, failed });
        child.stdio[3].write(`${JSON.stringify({ id: number, method, params, sessionId })}\0`);
    });
    return { child, send, listen: (listener) => listeners.push(listener) };
}

async function open(browser, page, bypass = true) {
    const { targetId } = await browser.send('Target.createTarget', { url: 'about:blank' });
    const { sessionId } = await browser.send('Target.attachToTarget', { targetId, flatten: true });
    const call = (method, params) => browser.send(method, params, sessionId);
    const requests = [];
    const loaded = new Promise((done) => browser.listen((message) => {
        if (message.sessionId !== sessionId) return;
        if (message.method === 'Network.requestWillBeSent') requests.push(message.params.request.url);
        if (message.method === 'Page.loadEventFired') done();
    }));
    await call('Page.enable');
    await call('Network.enable');
    await call('Page.setBypassCSP', { enabled: bypass });
    await call('Page.navigate', { url: pathToFileURL(resolve(page)).href });
    await loaded;
    return { call, requests };
}

// Requests that leave the page. The browser draws its own player from addresses that hold their data.
function strangers(page, requests) {
    const strange = requests.filter((url) => !/^(file|data):/.test(url));
    strange.forEach((url) => console.log(`${page}: asks for ${url}`));
    return strange.length;
}

// With the page's own rules of what may be fetched: its sound comes, and time goes on.
async function plays(browser, page) {
    const { call, requests } = await open(browser, page, false);
    const { result, exceptionDetails } = await call('Runtime.evaluate', {
        expression: `(async () => {
            const sound = document.querySelector('audio');
            await sound.play();
            for (let i = 0; i < 100 && sound.currentTime < 0.5; i++) {
                await new Promise((done) => setTimeout(done, 100));
            }
            return [sound.currentTime, sound.duration];
        })()`,
        awaitPromise: true, returnByValue: true, userGesture: true });
    if (exceptionDetails) throw new Error(exceptionDetails.exception.description);
    const [at, of] = result.value;
    console.log(`${page}: the sound plays: ${at.toFixed(1)} of ${of.toFixed(1)} s`);
    return (at >= 0.5 && at < of ? 0 : 1) + strangers(page, requests);
}

async function violations(call, width, scheme) {
    await call('Emulation.setDeviceMetricsOverride',
        { width, height: 844, deviceScaleFactor: 1, mobile: width < 600 });
    await call('Emulation.setEmulatedMedia',
        { features: [{ name: 'prefers-color-scheme', value: scheme }] });
    const { result, exceptionDetails } = await call('Runtime.evaluate', {
        expression: `${axe};axe.run(document).then((r) => JSON.stringify({
            passes: r.passes.length,
            found: r.violations.map((v) => v.id + ': ' + v.help + '\\n    ' +
                v.nodes.map((n) => n.html.slice(0, 200)).join('\\n    ')) }))`,
        awaitPromise: true, returnByValue: true });
    if (exceptionDetails) throw new Error(exceptionDetails.exception.description);
    return JSON.parse(result.value);
}

async function check(browser, page) {
    const { call, requests } = await open(browser, page);
    let bad = 0;
    for (const width of [390, 1280]) {
        for (const scheme of ['light', 'dark']) {
            const { passes, found } = await violations(call, width, scheme);
            console.log(`${page}, ${width} wide, ${scheme}: ${passes} rules passed, ` +
                `${found.length} violated`);
            found.forEach((text) => console.log(`  ${text}`));
            bad += found.length + (passes === 0 ? 1 : 0);
        }
    }
    if (sheets.includes(page)) {
        const { data } = await call('Page.printToPDF', { preferCSSPageSize: true });
        const n = Buffer.from(data, 'base64').toString('latin1').match(/\/Type \/Page\b/g).length;
        console.log(`${page}: ${n} sheet(s) of A4`);
        bad += n === 1 ? 0 : 1;
    }
    return bad + strangers(page, requests) + (requests.length === 0 ? 1 : 0);
}

// Chromium's own helpers outlive it for a while and write on into its profile: all end together.
async function end(child) {
    const ended = new Promise((done) => child.once('exit', done));
    try {
        process.kill(-child.pid, 'SIGKILL');
        if (child.exitCode === null && child.signalCode === null) await ended;
    } catch (error) {
        if (error.code !== 'ESRCH') throw error; // none is left
    }
}

// What stays behind in the temporary folder says nothing of the pages.
function removeProfile() {
    try {
        rmSync(profile, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
    } catch (error) {
        console.error(`${profile} stays: ${error.code}`);
    }
}

const profile = mkdtempSync(join(tmpdir(), 'sayline-axe-'));
const browser = start(profile);
let bad = 0;
try {
    for (const page of [...new Set([...pages, ...sheets])]) bad += await check(browser, page);
    for (const page of sounding) bad += await plays(browser, page);
    await browser.send('Browser.close').catch(() => {});
} finally {
    await end(browser.child);
    removeProfile();
}
process.exit(bad === 0 ? 0 : 1);
