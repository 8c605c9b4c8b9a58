// The ear: plays performances, any part of them, at any speed, and says what sounds when.
//
// A performance is {tones, clicks, bars}: tones [at, length, key, loudness, part, bar, events,
// cents, percussion, plucked, ringing], clicks [at, weight, bar, beat], bars [bar, at, until, countIn, countLength],
// all times in milliseconds. What is to be played is a list of stretches, each {version, from, to}.
// Only a slice of a second or so is handed to the audio graph at a time, so a long piece starts at
// once and what is changed is heard at once.

const SLICE = 0.5; // seconds handed on ahead of time
const HIDDEN_SLICE = 4; // a page that is not looked at is woken up seldom
const TICK = 60; // milliseconds between looks at the clock

const timbre = (context) => {
  // A round tone: a strong fundamental and few partials, tiring nobody.
  const partials = new Float32Array([0, 1, 0.32, 0.14, 0.05, 0.025, 0.01]);
  return context.createPeriodicWave(new Float32Array(partials.length), partials);
};

export class Ear {
  constructor(performances) {
    this.performances = performances;
    this.speed = 1;
    this.volume = 0.7;
    this.click = "off"; // off, beats, divisions
    this.countIn = false;
    this.loop = false;
    this.onlight = () => {}; // (Set of event names) that sound now
    this.onbar = () => {}; // (version, bar) that has begun
    this.onstate = () => {}; // (playing)
    this.context = null;
    this.stretches = [];
    this.sounding = new Set();
    this.timer = 0;
  }

  get playing() {
    return this.timer !== 0;
  }

  // ``within`` is where in the stretches to begin, in milliseconds from their beginning.
  play(stretches, within = 0) {
    this.stop();
    this.stretches = stretches.filter((each) => each.to > each.from);
    if (!this.stretches.length) return;
    const context = this.open();
    context.resume();
    this.starts = [];
    let total = 0;
    for (const each of this.stretches) {
      this.starts.push(total);
      total += each.to - each.from;
    }
    this.total = total;
    // One look at the clock: it goes on while the count-in is handed over.
    let begin = context.currentTime + 0.08;
    if (this.countIn && !within) begin += this.count(begin);
    this.anchor = { time: begin, at: within };
    this.handed = within; // up to here, in milliseconds of the list, the graph has it
    this.lights = [];
    this.bars = [];
    this.lit = "";
    this.timer = setInterval(() => this.tick(), TICK);
    this.tick();
    this.frame = requestAnimationFrame(() => this.follow());
    this.onstate(true);
  }

  stop() {
    if (!this.timer) return;
    clearInterval(this.timer);
    cancelAnimationFrame(this.frame);
    this.timer = 0;
    this.hush();
    this.onlight(new Set());
    this.onstate(false);
  }

  // What changes while it plays takes hold from this moment on.
  change(values) {
    if (!this.playing) {
      Object.assign(this, values);
      return;
    }
    const now = this.position();
    Object.assign(this, values);
    if (this.master) this.master.gain.setTargetAtTime(this.volume, this.context.currentTime, 0.02);
    if (!("speed" in values || "click" in values || "loop" in values)) return;
    if (now < 0) return; // still counting in
    this.hush();
    this.anchor = { time: this.context.currentTime + 0.03, at: now };
    this.handed = now;
    this.lights = this.lights.filter((each) => each.from <= now);
    this.bars = this.bars.filter((each) => each.from <= now);
    this.tick();
  }

  // Where in the list of stretches we are, in milliseconds; below 0 while counting in.
  position() {
    const { time, at } = this.anchor;
    return at + (this.context.currentTime - time) * 1000 * this.speed;
  }

  open() {
    if (this.context) return this.context;
    const context = new AudioContext();
    this.master = context.createGain();
    this.master.gain.value = this.volume;
    const limit = context.createDynamicsCompressor();
    limit.threshold.value = -14;
    limit.ratio.value = 4;
    this.master.connect(limit).connect(context.destination);
    this.wave = timbre(context);
    this.context = context;
    return context;
  }

  hush() {
    const now = this.context.currentTime;
    for (const { source, gain } of this.sounding) {
      gain.gain.cancelScheduledValues(now);
      gain.gain.setTargetAtTime(0, now, 0.015);
      try {
        source.stop(now + 0.1);
      } catch {
        // it has stopped already
      }
    }
    this.sounding.clear();
  }

  when(position) {
    return this.anchor.time + (position - this.anchor.at) / 1000 / this.speed;
  }

  tick() {
    const slice = document.hidden ? HIDDEN_SLICE : SLICE;
    const goal = this.position() + slice * 1000 * this.speed;
    while (this.handed < goal) {
      const turns = Math.floor(this.handed / this.total);
      if (turns && !this.loop) {
        if (this.position() > this.total + 400 * this.speed) this.stop();
        return;
      }
      const inside = this.handed - turns * this.total;
      const base = turns * this.total;
      let index = this.starts.findLastIndex((start) => start <= inside);
      if (index < 0) index = 0;
      const stretch = this.stretches[index];
      const end = base + this.starts[index] + stretch.to - stretch.from;
      const until = Math.min(goal, end);
      const shift = base + this.starts[index] - stretch.from;
      this.hand(stretch, this.handed - shift, until - shift, shift, stretch.to);
      this.handed = until;
      if (until === end) this.handed = end;
    }
  }

  // Hand the tones and clicks that begin in [from, to) of a performance to the audio graph.
  hand(stretch, from, to, shift, last) {
    const { tones, clicks, bars } = this.performances[stretch.version];
    for (let i = below(tones, from); i < tones.length && tones[i][0] < to; i++) {
      const [at, length, key, loudness, , , events, cents, percussion, plucked, rings] = tones[i];
      const end = Math.min(at + length, last);
      const fade = Math.min(at + length + (rings || 0), last);
      this.tone(this.when(at + shift), this.when(end + shift), this.when(fade + shift), {
        key: key + (cents || 0) / 100, loudness, percussion, plucked,
      });
      this.lights.push({ from: at + shift, to: end + shift, events });
    }
    if (this.click !== "off") {
      for (let i = below(clicks, from); i < clicks.length && clicks[i][0] < to; i++) {
        const [at, weight] = clicks[i];
        if (weight || this.click === "divisions") this.tap(this.when(at + shift), weight);
      }
    }
    for (const [bar, at] of bars) {
      if (at >= from && at < to) {
        this.bars.push({ from: at + shift, version: stretch.version, bar });
      }
    }
  }

  // A tone that a pedal holds past its end dies away until ``fade``.
  tone(start, end, fade, { key, loudness, percussion, plucked }) {
    const context = this.context;
    const gain = context.createGain();
    const peak = 0.3 * (loudness / 127) ** 1.5;
    const source = percussion ? this.noise() : context.createOscillator();
    let path = source;
    if (!percussion) {
      source.setPeriodicWave(this.wave);
      source.frequency.value = 440 * 2 ** ((key - 69) / 12);
    } else {
      const band = context.createBiquadFilter();
      band.type = "bandpass";
      band.frequency.value = 300 + 60 * (key % 40);
      path = source.connect(band);
      end = Math.min(end, start + 0.12);
    }
    const attack = percussion ? 0.002 : plucked ? 0.004 : 0.014;
    if (plucked) end = fade = Math.min(end, start + 0.5);
    end = Math.max(end, start + attack + 0.03);
    gain.gain.setValueAtTime(0, start);
    gain.gain.linearRampToValueAtTime(peak, start + attack);
    if (plucked) gain.gain.setTargetAtTime(0, start + attack, 0.12);
    else gain.gain.setTargetAtTime(peak * 0.45, start + attack, percussion ? 0.03 : 0.55);
    const rings = fade > end + 0.05;
    gain.gain.setTargetAtTime(0, Math.max(end - 0.03, start + attack), rings ? 0.9 : 0.035);
    if (rings) gain.gain.setTargetAtTime(0, fade, 0.035);
    path.connect(gain).connect(this.master);
    this.begin(source, gain, start, (rings ? fade : end) + 0.25);
  }

  tap(start, weight) {
    const context = this.context;
    const source = context.createOscillator();
    const gain = context.createGain();
    source.frequency.value = [1150, 1450, 1700, 2150][weight];
    const peak = [0.05, 0.13, 0.18, 0.26][weight];
    gain.gain.setValueAtTime(0, start);
    gain.gain.linearRampToValueAtTime(peak, start + 0.002);
    gain.gain.setTargetAtTime(0, start + 0.004, 0.014);
    source.connect(gain).connect(this.master);
    this.begin(source, gain, start, start + 0.12);
  }

  begin(source, gain, start, end) {
    const playing = { source, gain };
    this.sounding.add(playing);
    source.onended = () => this.sounding.delete(playing);
    source.start(start);
    source.stop(end);
  }

  noise() {
    const context = this.context;
    if (!this.hiss) {
      this.hiss = context.createBuffer(1, context.sampleRate / 4, context.sampleRate);
      const data = this.hiss.getChannelData(0);
      for (let i = 0; i < data.length; i++) data[i] = Math.random() * 2 - 1;
    }
    const source = context.createBufferSource();
    source.buffer = this.hiss;
    return source;
  }

  // One bar counted before the first stretch; returns how many seconds that takes.
  count(start) {
    const { version, from } = this.stretches[0];
    const { bars } = this.performances[version];
    const bar = bars.findLast((each) => each[1] <= from) || bars[0];
    if (!bar) return 0;
    for (const [at, weight] of bar[3]) this.tap(start + at / 1000 / this.speed, weight);
    return bar[4] / 1000 / this.speed;
  }

  follow() {
    const now = this.position();
    this.lights = this.lights.filter((each) => each.to > now);
    const lit = new Set();
    for (const each of this.lights) {
      if (each.from <= now) for (const name of each.events) lit.add(name);
    }
    const said = [...lit].join();
    if (said !== this.lit) {
      this.lit = said;
      this.onlight(lit);
    }
    while (this.bars.length && this.bars[0].from <= now) {
      const { version, bar } = this.bars.shift();
      this.onbar(version, bar);
    }
    this.frame = requestAnimationFrame(() => this.follow());
  }
}

// The first of a sorted list whose moment is not below this one.
const below = (list, moment) => {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle][0] < moment) low = middle + 1;
    else high = middle;
  }
  return low;
};
