// What no test may cause: an error in the console, a breach of the content policy, a request to another origin.

/** Watches everything that happens in a context, whichever page or worker does it. */
export class Watch {
  faults = [];
  requests = [];
  #allowed = [];

  constructor(origins) {
    this.origins = origins;
  }

  async over(context) {
    await context.exposeBinding("reportViolation", (_, said) => this.#fault(`policy: ${said}`));
    await context.addInitScript(() => {
      addEventListener("securitypolicyviolation", (event) => {
        window.reportViolation(`${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}:${event.lineNumber}`);
      });
    });
    context.on("console", (message) => {
      if (message.type() === "error") this.#fault(`console: ${message.text()}`);
    });
    context.on("weberror", (error) => this.#fault(`thrown: ${error.error()}`));
    context.on("request", (request) => {
      const url = new URL(request.url());
      this.requests.push(request.url());
      const within = ["data:", "blob:"].includes(url.protocol) || this.origins.includes(url.origin) || url.protocol === "file:";
      if (!within) this.#fault(`request to ${request.url()}`);
    });
  }

  /** A test that provokes an error says which. */
  expectFault(pattern) {
    this.#allowed.push(pattern);
  }

  #fault(said) {
    if (!this.#allowed.some((pattern) => pattern.test(said))) this.faults.push(said);
  }
}
