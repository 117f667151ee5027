"""Certificates for tests, made with the openssl command in a folder that goes away again."""

import os
import ssl
import subprocess


def openssl(*words):
    subprocess.run(["openssl", *words], check=True, stdout=subprocess.DEVNULL,
                   stderr=subprocess.DEVNULL)


def authority(folder, name="ca"):
    """A certificate authority of its own; the path of its certificate."""
    key, certificate = os.path.join(folder, name + ".key"), os.path.join(folder, name + ".pem")
    openssl("req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
            "-keyout", key, "-out", certificate, "-days", "30", "-subj", f"/CN=test {name}",
            "-addext", "basicConstraints=critical,CA:TRUE")
    return certificate


def context(folder, ca, name, host="localhost", dates=None):
    """A server's TLS context with a certificate for host, signed by ca. dates: (from, to) as
    openssl writes them, for one that has run out."""
    base = os.path.join(folder, name)
    openssl("req", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
            "-keyout", base + ".key", "-out", base + ".csr", "-subj", f"/CN={host}")
    with open(base + ".cnf", "w", encoding="ascii") as out:
        out.write(f"[ca]\ndefault_ca=own\n[own]\ndatabase={base}.db\nnew_certs_dir={folder}\n"
                  f"rand_serial=yes\ndefault_md=sha256\npolicy=any\nx509_extensions=names\n"
                  f"[any]\ncommonName=supplied\n[names]\nsubjectAltName=DNS:{host}\n")
    open(base + ".db", "w", encoding="ascii").close()
    begin, end = dates or ("20200101000000Z", "20991231000000Z")
    openssl("ca", "-batch", "-notext", "-config", base + ".cnf", "-in", base + ".csr",
            "-out", base + ".pem", "-cert", ca, "-keyfile", ca[:-len(".pem")] + ".key",
            "-startdate", begin, "-enddate", end)
    made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    made.load_cert_chain(base + ".pem", base + ".key")
    return made
