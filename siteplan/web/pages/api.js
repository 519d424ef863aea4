// Speaks to siteplan. Every answer is {ok, status, data}; what is wrong is in data.faults, one line each.

export async function ask(method, address, body) {
    const request = { method, credentials: "same-origin", headers: {} };
    if (body !== undefined) {
        request.headers["Content-Type"] = "application/json";
        request.body = JSON.stringify(body);
    }
    try {
        const answer = await fetch(address, request);
        return { ok: answer.ok, status: answer.status, data: await answer.json() };
    } catch {
        const line = "siteplan does not answer: is it still running in its window?";
        return { ok: false, status: 0, data: { faults: [line] } };
    }
}
