#include "sound/endpoint.h"

const char *sl_endpoint_state_name(enum sl_endpoint_state state)
{
    switch (state) {
    case SL_ENDPOINT_READY:
        return "ready";
    case SL_ENDPOINT_RUNNING:
        return "running";
    case SL_ENDPOINT_STALLED:
        return "stalled";
    case SL_ENDPOINT_ENDED:
        return "ended";
    case SL_ENDPOINT_GONE:
        return "gone";
    case SL_ENDPOINT_STOPPED:
        return "stopped";
    }
    return "unknown";
}

enum sl_status sl_endpoint_start(struct sl_endpoint *endpoint, struct sl_error *error)
{
    return endpoint->functions->start(endpoint->self, error);
}

size_t sl_endpoint_read(struct sl_endpoint *endpoint, int16_t *frames, size_t room)
{
    return endpoint->functions->read(endpoint->self, frames, room);
}

size_t sl_endpoint_writable(struct sl_endpoint *endpoint)
{
    return endpoint->functions->writable(endpoint->self);
}

size_t sl_endpoint_write(struct sl_endpoint *endpoint, const int16_t *frames, size_t n)
{
    return endpoint->functions->write(endpoint->self, frames, n);
}

struct sl_endpoint_facts sl_endpoint_facts(struct sl_endpoint *endpoint)
{
    return endpoint->functions->facts(endpoint->self);
}

size_t sl_endpoint_wait(struct sl_endpoint *endpoint, size_t n, double timeout_s)
{
    return endpoint->functions->wait(endpoint->self, n, timeout_s);
}

void sl_endpoint_stop(struct sl_endpoint *endpoint)
{
    endpoint->functions->stop(endpoint->self);
}

void sl_endpoint_close(struct sl_endpoint *endpoint)
{
    if (endpoint != NULL && endpoint->functions != NULL) {
        endpoint->functions->close(endpoint->self);
        *endpoint = (struct sl_endpoint){0};
    }
}
