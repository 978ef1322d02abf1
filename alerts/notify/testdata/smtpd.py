"""A real SMTP server for the tests: aiosmtpd, with TLS and sign-in.

smtpd.py MODE CERT KEY   MODE: starttls, implicit, or none
Prints "port N", then each message as one line of JSON.
"""
import asyncio, json, ssl, sys
from aiosmtpd.smtp import SMTP, AuthResult

mode, cert, key = sys.argv[1:4]
context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
context.load_cert_chain(cert, key)


def sign_in(server, session, envelope, mechanism, data):
    ok = data.login == b"wetside" and data.password == b"correct horse"
    return AuthResult(success=ok, handled=False)  # the server answers


class Handler:
    async def handle_RCPT(self, server, session, envelope, address, options):
        if address.startswith("nobody@"):
            return "550 5.1.1 there is nobody of that name"
        if address.startswith("later@"):
            return "451 4.3.0 try again later"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        print(json.dumps({
            "from": envelope.mail_from, "to": envelope.rcpt_tos, "content": envelope.content.decode("utf-8", "replace"),
            "tls": session.ssl is not None or mode == "implicit", "signed_in": bool(session.authenticated),
        }), flush=True)
        return "250 taken"


def session():
    options = dict(enable_SMTPUTF8=True, hostname="mail.tern-street.example")
    if mode == "starttls":
        options.update(tls_context=context, require_starttls=True, authenticator=sign_in, auth_required=True)
    if mode == "implicit":
        options.update(authenticator=sign_in, auth_required=True, auth_require_tls=False)
    return SMTP(Handler(), loop=loop, **options)


loop = asyncio.new_event_loop()
asyncio.set_event_loop(loop)
server = loop.run_until_complete(
    loop.create_server(session, "127.0.0.1", 0, ssl=context if mode == "implicit" else None))
print("port", server.sockets[0].getsockname()[1], flush=True)
loop.run_forever()
