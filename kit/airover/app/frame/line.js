// Connection to the server that survives interruptions. Each message is kept until the server has
// received it, and is sent again over the next websocket. The other end is `lines.py`.
"use strict";
(() => {
  const WAIT = [250, 500, 1000, 2000, 3000]; // ms before the next attempts to connect
  const OPENING = 10000; // ms before an attempt to connect is given up
  const CONFIRM = 200; // ms before messages from the server are confirmed
  const QUIET = 4000; // ms without a message before the server is asked for a sign of life
  const DEAD = 8000; // ms without a message before the connection counts as lost
  const GOT = "got ";

  class Line {
    constructor(url) {
      Object.assign(this, {
        url, kept: [], confirmed: 0, got: 0, attempts: 0, open: false, ended: false, at: 0,
        onmessage: null,
      });
      this.watching = setInterval(() => this.watch(), 1000);
      addEventListener("online", () => this.hurry());
      document.addEventListener("visibilitychange", () => document.hidden || this.hurry());
      this.connect();
    }

    get waiting() { // number of messages that the server has not confirmed
      return this.kept.length;
    }

    connect() {
      clearTimeout(this.next);
      const socket = new WebSocket(`${this.url}&got=${this.got}`);
      socket.binaryType = "arraybuffer";
      this.socket = socket;
      this.at = Date.now();
      socket.onmessage = ({ data }) => {
        if (socket === this.socket) this.hear(data);
      };
      socket.onclose = () => {
        if (socket === this.socket) this.lose();
      };
    }

    hear(data) {
      this.at = Date.now();
      if (typeof data !== "string" || !data.startsWith(GOT)) {
        this.got += 1;
        this.confirming ??= setTimeout(() => this.confirm(), CONFIRM);
        this.onmessage?.({ data });
        return;
      }
      const count = Number(data.slice(GOT.length));
      this.kept.splice(0, count - this.confirmed);
      this.confirmed = count;
      if (!this.open) {
        this.open = true;
        this.attempts = 0;
        for (const one of this.kept) this.socket.send(one);
      }
      dispatchEvent(new Event("line"));
    }

    send(data) {
      this.kept.push(data);
      if (this.open) this.socket.send(data);
      dispatchEvent(new Event("line"));
    }

    confirm() {
      clearTimeout(this.confirming);
      this.confirming = null;
      if (this.open) this.socket.send(GOT + this.got);
    }

    watch() {
      const quiet = Date.now() - this.at;
      if (this.open && quiet > DEAD) this.lose();
      else if (this.open && quiet > QUIET) this.confirm();
      else if (this.socket && !this.open && quiet > OPENING) this.lose();
    }

    hurry() { // the network is back, or the page is in view again
      if (this.ended) return;
      if (this.open) this.confirm();
      else if (!this.socket) this.connect();
    }

    lose() {
      const { socket } = this;
      Object.assign(this, { socket: null, open: false });
      socket.close();
      clearTimeout(this.confirming);
      this.confirming = null;
      if (this.ended) return;
      this.next = setTimeout(() => this.connect(), WAIT[Math.min(this.attempts, WAIT.length - 1)]);
      this.attempts += 1;
      dispatchEvent(new Event("line"));
    }

    close() {
      if (this.ended) return;
      this.ended = true;
      clearInterval(this.watching);
      clearTimeout(this.next);
      if (this.socket) this.lose();
    }
  }
  window.Line = Line;
})();
