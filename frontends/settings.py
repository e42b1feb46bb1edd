"""The settings of an installation: the only reader of the environment. Every name begins SWARDTIDE_."""

from __future__ import annotations

import ipaddress
import os
import secrets
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path

from pydantic import Field, SecretStr, ValidationError
from pydantic_settings import BaseSettings, SettingsConfigDict

from models.errors import BadSettings

PREFIX = "SWARDTIDE_"
KEY_BYTES = 32
ADDRESSES = ("sqlite:///", "postgresql+psycopg://")

REMEDIES: Mapping[str, str] = {
    "home": "name a folder that this user may write to",
    "weather_timeout_s": "give seconds from 1 to 600",
    "forecast": "choose off or on",
    "mail": "choose folder or smtp",
    "smtp_port": "give a port from 1 to 65535; 587 goes with starttls, 465 with tls",
    "smtp_security": "choose starttls, tls or none",
    "web_port": "give a port from 1 to 65535",
    "web_beyond_loopback": "say true or false",
    "season_page_beyond_loopback": "say true or false",
    "secret_key": f"give {2 * KEY_BYTES} characters or more of chance, or leave it out: one is made",
    "worker": "give 1 to 40 characters",
}


class Forecast(StrEnum):
    """Whether a forecast is asked for beside each site's own weather."""

    OFF = "off"
    ON = "on"


class Mail(StrEnum):
    FOLDER = "folder"
    SMTP = "smtp"


class SmtpSecurity(StrEnum):
    """How the line to the mail server is protected."""

    TLS = "tls"
    STARTTLS = "starttls"
    NONE = "none"


class Settings(BaseSettings):
    """Where things are and whom to talk to. Empty paths and addresses stand for places within `home`."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, frozen=True, extra="forbid")

    home: Path = Path("var")
    database: str = ""
    secret_key: SecretStr | None = Field(default=None, min_length=2 * KEY_BYTES)
    station_files: Path | None = None
    weather_timeout_s: float = Field(default=120.0, ge=1, le=600)
    forecast: Forecast = Forecast.OFF
    forecast_contact: str = ""
    mail: Mail = Mail.FOLDER
    smtp_host: str = ""
    smtp_port: int = Field(default=587, ge=1, le=65535)
    smtp_security: SmtpSecurity = SmtpSecurity.STARTTLS
    smtp_user: str = ""
    smtp_password: SecretStr = SecretStr("")
    web_host: str = "127.0.0.1"
    web_port: int = Field(default=8420, ge=1, le=65535)
    web_beyond_loopback: bool = False
    season_page_beyond_loopback: bool = False
    public_address: str = ""
    worker: str = Field(default="service", min_length=1, max_length=40)

    @property
    def database_address(self) -> str:
        return self.database or f"sqlite:///{self.home / 'swardtide.sqlite3'}"

    @property
    def mail_folder(self) -> Path:
        return self.home / "mail"

    @property
    def weather_cache(self) -> Path:
        return self.home / "weather-cache"

    @property
    def station_folder(self) -> Path:
        return self.station_files or self.home / "stations"

    @property
    def secret_file(self) -> Path:
        return self.home / "secret"

    @property
    def base_address(self) -> str:
        """What addresses shown to people begin with."""
        host = f"[{self.web_host}]" if ":" in self.web_host else self.web_host
        return self.public_address.rstrip("/") or f"http://{host}:{self.web_port}"


def read_settings() -> Settings:
    """The settings as the environment has them now; BadSettings for the first that cannot be used."""
    _refuse_unknown()
    try:
        settings = Settings()
    except ValidationError as trouble:
        raise _first_fault(trouble) from trouble
    _refuse_contradictions(settings)
    return settings


def make_secret(settings: Settings) -> bytes:
    """The key of this installation; made on the first run, readable by this user only.

    BadSettings where others may read it, or where the folder cannot be written to.
    """
    if settings.secret_key is not None:
        return settings.secret_key.get_secret_value().encode()
    if not settings.secret_file.exists():
        try:
            _write_secret(settings.secret_file)
        except OSError as trouble:
            raise BadSettings(f"{PREFIX}HOME", str(settings.home), REMEDIES["home"]) from trouble
    return _read_secret(settings.secret_file)


def _write_secret(path: Path) -> None:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = path.with_name(f".secret.{secrets.token_hex(8)}")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(secrets.token_hex(KEY_BYTES))
    try:
        # A link is refused where another process was first: its key then holds, whole.
        os.link(part, path)
    except FileExistsError:
        pass
    finally:
        part.unlink()


def _read_secret(path: Path) -> bytes:
    if path.stat().st_mode & 0o077:
        raise BadSettings("secret", str(path), f"others may read it: chmod 600 {path}")
    key = path.read_bytes().strip()
    if len(key) < 2 * KEY_BYTES:
        raise BadSettings(
            "secret", str(path), "it is cut short: restore it, or remove it and tell addresses anew"
        )
    return key


def _refuse_unknown() -> None:
    known = {f"{PREFIX}{name}".upper() for name in Settings.model_fields}
    for name in sorted(os.environ):
        if name.upper().startswith(PREFIX) and name.upper() not in known:
            raise BadSettings(name, "set", f"there is no such setting; there are {', '.join(sorted(known))}")


def _first_fault(trouble: ValidationError) -> BadSettings:
    fault = trouble.errors()[0]
    name = str(fault["loc"][0])
    hidden = "SecretStr" in str(Settings.model_fields[name].annotation)
    value = "hidden" if hidden else str(fault["input"])
    return BadSettings(f"{PREFIX}{name.upper()}", value, REMEDIES.get(name, str(fault["msg"])))


def _refuse_contradictions(settings: Settings) -> None:
    if not settings.database_address.startswith(ADDRESSES):
        # A password may stand in it, so only how it begins is told.
        begins = settings.database.partition(":")[0]
        raise BadSettings(f"{PREFIX}DATABASE", begins, f"begin it with {' or '.join(ADDRESSES)}")
    if settings.forecast is Forecast.ON and not settings.forecast_contact:
        remedy = "give a mail address or a web page of yours, or set SWARDTIDE_FORECAST=off"
        raise BadSettings(f"{PREFIX}FORECAST_CONTACT", "", remedy)
    if settings.mail is Mail.SMTP and not settings.smtp_host:
        raise BadSettings(f"{PREFIX}SMTP_HOST", "", "name the mail server, or set SWARDTIDE_MAIL=folder")
    if settings.smtp_user and settings.smtp_security is SmtpSecurity.NONE:
        raise BadSettings(
            f"{PREFIX}SMTP_SECURITY", "none", "a password never goes in the clear: use starttls or tls"
        )
    if not settings.web_beyond_loopback and not is_loopback(settings.web_host):
        remedy = "use 127.0.0.1 or ::1 behind a proxy, or set SWARDTIDE_WEB_BEYOND_LOOPBACK=true"
        raise BadSettings(f"{PREFIX}WEB_HOST", settings.web_host, remedy)
    if settings.public_address and not settings.public_address.startswith(("http://", "https://")):
        raise BadSettings(f"{PREFIX}PUBLIC_ADDRESS", settings.public_address, "begin it with https://")


def is_loopback(host: str) -> bool:
    """Whether a host name or numeric address means this machine itself."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False
