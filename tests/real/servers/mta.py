"""A private mail server: postfix with a login through dovecot, in a folder of its own.

    with Mta() as mta:
        ... mta.starttls_port, mta.tls_port, mta.plain_port, mta.ca, mta.user, mta.password ...
        mta.mails()

Everything is below one temporary folder and on loopback ports that were free; the machine's own
mail server and what is under /etc are neither read nor touched. The certificate is signed by an
authority made here. All recipients at example.com are delivered into one Maildir, those at
nobody.example are unknown. Leaving the block stops both servers, each by its own process id.
"""

import email
import email.policy
import os
import pathlib
import pwd
import grp
import shutil
import socket
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
import certificates
from shop import wait_until

MAIN = """
compatibility_level = 3.6
queue_directory = {folder}/spool
data_directory = {folder}/data
mail_owner = postfix
setgid_group = postdrop
myhostname = mail.example.com
mydestination =
mynetworks =
inet_interfaces = 127.0.0.1
inet_protocols = ipv4
alias_maps =
alias_database =
local_recipient_maps =
local_header_rewrite_clients =
virtual_mailbox_domains = example.com, nobody.example
virtual_mailbox_base = {folder}/mail
virtual_mailbox_maps = texthash:{folder}/etc/boxes
virtual_minimum_uid = 1
virtual_uid_maps = static:{uid}
virtual_gid_maps = static:{gid}
default_transport = error:5.1.2 no way out of this test
smtpd_client_restrictions = permit_sasl_authenticated, reject
smtpd_recipient_restrictions = reject_unlisted_recipient, permit_sasl_authenticated, reject
smtpd_relay_restrictions = permit_sasl_authenticated, reject
smtpd_sasl_type = dovecot
smtpd_sasl_path = {folder}/login/auth
smtpd_sasl_security_options = noanonymous
smtpd_tls_auth_only = yes
smtpd_tls_cert_file = {folder}/etc/server.pem
smtpd_tls_key_file = {folder}/etc/server.key
smtpd_client_connection_rate_limit = 0
smtpd_client_connection_count_limit = 0
smtpd_error_sleep_time = 0s
queue_run_delay = 5s
minimal_backoff_time = 5s
maximal_backoff_time = 10s
maillog_file = {folder}/maillog
maillog_file_prefixes = {folder}
"""

MASTER = """
127.0.0.1:{starttls} inet n - n - - smtpd
    -o smtpd_sasl_auth_enable=yes -o smtpd_tls_security_level=encrypt
127.0.0.1:{tls} inet n - n - - smtpd
    -o smtpd_sasl_auth_enable=yes -o smtpd_tls_wrappermode=yes
127.0.0.1:{plain} inet n - n - - smtpd
    -o smtpd_tls_security_level=none
pickup unix n - n 60 1 pickup
cleanup unix n - n - 0 cleanup
qmgr unix n - n 300 1 qmgr
tlsmgr unix - - n 1000? 1 tlsmgr
rewrite unix - - n - - trivial-rewrite
bounce unix - - n - 0 bounce
defer unix - - n - 0 bounce
trace unix - - n - 0 bounce
verify unix - - n - 1 verify
flush unix n - n 1000? 0 flush
proxymap unix - - n - - proxymap
error unix - - n - - error
retry unix - - n - - error
virtual unix - n n - - virtual
anvil unix - - n - 1 anvil
scache unix - - n - 1 scache
showq unix n - n - - showq
postlog unix-dgram n - n - 1 postlogd
"""

LOGIN = """
base_dir = {folder}/login/run
state_dir = {folder}/login/state
log_path = {folder}/login/log
protocols =
listen = 127.0.0.1
ssl = no
auth_verbose = yes
auth_mechanisms = plain login
auth_failure_delay = 0
first_valid_uid = 1
passdb {{
  driver = passwd-file
  args = scheme=PLAIN username_format=%u {folder}/login/users
}}
userdb {{
  driver = static
  args = uid={uid} gid={gid} home={folder}/mail
}}
service auth {{
  unix_listener {folder}/login/auth {{
    mode = 0666
  }}
}}
"""

TRACE = ("Return-Path", "X-Original-To", "Delivered-To", "Received")


def why_not():
    """Why there can be no mail server here, or None."""
    if os.geteuid() != 0:
        return "a private mail server needs root"
    for program in ("/usr/sbin/postfix", "/usr/sbin/dovecot", "/usr/bin/openssl"):
        if not os.path.exists(program):
            return f"{program} is not installed"
    return None


def need():
    """Ends the script as skipped where there can be none."""
    reason = why_not()
    if reason:
        print(f"skipped: {reason}")
        sys.exit(77)


def free_ports(count):
    taken = [socket.create_server(("127.0.0.1", 0)) for _ in range(count)]
    ports = [one.getsockname()[1] for one in taken]
    for one in taken:
        one.close()
    return ports


class Delivered:
    """A mail as it lies in the Maildir: its bytes as they were handed in (CRLF, without what the
    server put in front) and the same read by Python's email package."""

    def __init__(self, path):
        stored = path.read_bytes()
        while stored.split(b":", 1)[0].decode("latin-1") in TRACE:
            name, stored = self.cut_header(stored)
            if name == "Delivered-To":
                self.to = self.last
        self.has_cr = b"\r" in stored
        self.bytes = stored.replace(b"\n", b"\r\n")
        self.mail = email.message_from_bytes(self.bytes, policy=email.policy.default)
        self.key = self.mail["Message-ID"].strip("<>").split("@")[0]

    def cut_header(self, stored):
        """The first header's name and what comes after it; its value is kept in last."""
        end = stored.index(b"\n") + 1
        while stored[end:end + 1] in (b" ", b"\t"):
            end = stored.index(b"\n", end) + 1
        name, value = stored[:end].decode("latin-1").split(":", 1)
        self.last = value.strip()
        return name, stored[end:]


class Mta:
    user, password = "shop", "correct horse é"

    def __enter__(self):
        need()
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="bl-mta-"))
        self.folder.chmod(0o755)
        self.login = None
        self.started = False
        try:
            self.prepare()
            self.start_login()
            self.start_mail()
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_):
        if self.started:
            self.postfix("stop")
        if self.login:
            self.login.terminate()
            self.login.wait(20)
        shutil.rmtree(self.folder)

    def prepare(self):
        box = pwd.getpwnam("mail")
        self.starttls_port, self.tls_port, self.plain_port = free_ports(3)
        for name in ("etc", "spool", "data", "mail", "login", "ca"):
            (self.folder / name).mkdir(mode=0o755)
        os.chown(self.folder / "data", pwd.getpwnam("postfix").pw_uid, -1)
        os.chown(self.folder / "mail", box.pw_uid, box.pw_gid)
        grp.getgrnam("postdrop")
        self.ca = certificates.authority(str(self.folder / "ca"))
        self.other_ca = certificates.authority(str(self.folder / "ca"), "other")
        certificates.context(str(self.folder / "ca"), self.ca, "server")
        for suffix in ("pem", "key"):
            shutil.copy(self.folder / "ca" / f"server.{suffix}", self.folder / "etc")
        values = {"folder": self.folder, "uid": box.pw_uid, "gid": box.pw_gid,
                  "starttls": self.starttls_port, "tls": self.tls_port, "plain": self.plain_port}
        (self.folder / "etc" / "main.cf").write_text(MAIN.format(**values))
        (self.folder / "etc" / "master.cf").write_text(MASTER.format(**values))
        (self.folder / "etc" / "boxes").write_text("@example.com all/\n")
        (self.folder / "login" / "dovecot.conf").write_text(LOGIN.format(**values))
        (self.folder / "login" / "users").write_text(f"{self.user}:{self.password}\n")

    def start_login(self):
        self.login = subprocess.Popen(
            ["/usr/sbin/dovecot", "-F", "-c", self.folder / "login" / "dovecot.conf"],
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        wait_until(lambda: (self.folder / "login" / "auth").exists() or self.login.poll(),
                   what="dovecot's start")
        assert self.login.poll() is None, self.login.stderr.read()

    def postfix(self, *words):
        done = subprocess.run(["/usr/sbin/postfix", "-c", self.folder / "etc", *words],
                              capture_output=True, text=True, timeout=60)
        assert done.returncode == 0, (done.stdout, done.stderr, self.log())

    def start_mail(self):
        self.started = True
        self.postfix("start")

    def log(self):
        path = self.folder / "maillog"
        return path.read_text() if path.exists() else ""

    def login_log(self):
        path = self.folder / "login" / "log"
        return path.read_text() if path.exists() else ""

    def queued(self):
        return [path for name in ("maildrop", "incoming", "active", "deferred", "hold")
                for path in (self.folder / "spool" / name).rglob("*") if path.is_file()]

    def box(self):
        new = self.folder / "mail" / "all" / "new"
        return list(new.iterdir()) if new.exists() else []

    def mails(self):
        """All that was delivered, when nothing is on its way inside the server any more."""
        wait_until(lambda: not self.queued(), seconds=120, what="the end of the deliveries")
        return [Delivered(path) for path in self.box()]

    def empty(self):
        self.mails()
        for path in self.box():
            path.unlink()
