/*
 * What every transfer has in common: one host, verified, no proxy, no redirect, no signal; the
 * password goes in through options and nowhere else.
 */
#include <netinet/in.h>
#include <string.h>
#include <sys/socket.h>

#include "send_inside.h"

static curl_socket_t open_any(void *unused, curlsocktype purpose, struct curl_sockaddr *to)
{
    (void)unused;
    (void)purpose;
    return socket(to->family, to->socktype | SOCK_CLOEXEC, to->protocol);
}

static bool is_loopback(const struct curl_sockaddr *to)
{
    struct sockaddr_in four;
    struct sockaddr_in6 six;
    if (to->family == AF_INET && to->addrlen >= sizeof four) {
        memcpy(&four, &to->addr, sizeof four);
        return ntohl(four.sin_addr.s_addr) >> 24 == 127;
    }
    if (to->family == AF_INET6 && to->addrlen >= sizeof six) {
        memcpy(&six, &to->addr, sizeof six);
        return IN6_IS_ADDR_LOOPBACK(&six.sin6_addr);
    }
    return false;
}

/* Whatever a name resolves to: without TLS nothing leaves this machine. */
static curl_socket_t open_loopback(void *unused, curlsocktype purpose, struct curl_sockaddr *to)
{
    return is_loopback(to) ? open_any(unused, purpose, to) : CURL_SOCKET_BAD;
}

static const char *protocols(const struct bl_gateway *gateway, bool plain)
{
    if (gateway->kind == BL_GATEWAY_HTTP) {
        return plain ? "http" : "https";
    }
    return gateway->tls == BL_TLS_IMPLICIT ? "smtps" : "smtp";
}

static bool set_bounds(CURL *easy, const struct bl_gateway *gateway, bool plain)
{
    const char *allowed = protocols(gateway, plain);
    return !curl_easy_setopt(easy, CURLOPT_PROTOCOLS_STR, allowed) &&
           !curl_easy_setopt(easy, CURLOPT_REDIR_PROTOCOLS_STR, allowed) &&
           !curl_easy_setopt(easy, CURLOPT_FOLLOWLOCATION, 0L) &&
           !curl_easy_setopt(easy, CURLOPT_PROXY, "") &&
           !curl_easy_setopt(easy, CURLOPT_NETRC, (long)CURL_NETRC_IGNORED) &&
           !curl_easy_setopt(easy, CURLOPT_NOSIGNAL, 1L) &&
           /* A resolver that hangs must not be waited for when its transfer is given up. */
           !curl_easy_setopt(easy, CURLOPT_QUICK_EXIT, 1L) &&
           !curl_easy_setopt(easy, CURLOPT_TCP_KEEPALIVE, 1L) &&
           !curl_easy_setopt(easy, CURLOPT_OPENSOCKETFUNCTION,
                             plain ? open_loopback : open_any) &&
           !curl_easy_setopt(easy, CURLOPT_CONNECTTIMEOUT, (long)gateway->timeout_s) &&
           !curl_easy_setopt(easy, CURLOPT_SERVER_RESPONSE_TIMEOUT, (long)gateway->timeout_s);
}

static bool set_tls(CURL *easy, const struct bl_gateway *gateway, bool plain)
{
    if (curl_easy_setopt(easy, CURLOPT_USE_SSL,
                         plain ? (long)CURLUSESSL_NONE : (long)CURLUSESSL_ALL) ||
        curl_easy_setopt(easy, CURLOPT_SSLVERSION, (long)CURL_SSLVERSION_TLSv1_2) ||
        curl_easy_setopt(easy, CURLOPT_SSL_VERIFYPEER, 1L) ||
        curl_easy_setopt(easy, CURLOPT_SSL_VERIFYHOST, 2L)) {
        return false;
    }
    /* A pinned authority stands alone: the system's folder of them is curl's default too. */
    return !gateway->ca_file || (!curl_easy_setopt(easy, CURLOPT_CAINFO, gateway->ca_file) &&
                                 !curl_easy_setopt(easy, CURLOPT_CAPATH, NULL));
}

static bool set_login(CURL *easy, const struct lane *lane)
{
    if (!lane->gateway->user) {
        return true;
    }
    return !curl_easy_setopt(easy, CURLOPT_USERNAME, lane->gateway->user) &&
           !curl_easy_setopt(easy, CURLOPT_PASSWORD, lane->secret ? lane->secret : "") &&
           !curl_easy_setopt(easy, CURLOPT_HTTPAUTH, (long)CURLAUTH_BASIC);
}

CURL *send_easy_new(const struct lane *lane, struct transfer *transfer, bool plain)
{
    CURL *easy = curl_easy_init();
    if (easy && set_bounds(easy, lane->gateway, plain) && set_tls(easy, lane->gateway, plain) &&
        set_login(easy, lane) && !curl_easy_setopt(easy, CURLOPT_PRIVATE, transfer)) {
        return easy;
    }
    curl_easy_cleanup(easy);
    return NULL;
}
