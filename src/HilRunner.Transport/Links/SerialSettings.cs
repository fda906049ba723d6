using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>
/// A serial port's settings as termios2. They are set on our own descriptor, not by opening System.IO.Ports beside it: that writes
/// DTR and RTS each time it opens and closes, so that "leave" would reset boards (README.md beside this file says what was measured).
/// </summary>
internal static class SerialSettings
{
    /// <summary>Furthest a port's real speed may be from the one asked for: an 8N1 receiver samples the last bit half a bit in, so
    /// both ends together have about 5 %; this leaves the device the larger share.</summary>
    private const double SpeedTolerance = 0.02;

    /// <exception cref="LinkException">Unsupported: a combination that no port can do. Says which entry.</exception>
    public static void Check(SerialLinkSpec spec)
    {
        if (spec.Baud is < 50 or > 20_000_000) { throw Unsupported(spec, $"baud {spec.Baud}", "50 to 20000000"); }
        if (spec.DataBits is < 5 or > 8) { throw Unsupported(spec, $"{spec.DataBits} data bits", "5 to 8"); }
        if (spec.StopBits is not (1 or 1.5 or 2)) { throw Unsupported(spec, $"{spec.StopBits} stop bits", "1, 1.5 or 2"); }
        if (spec.StopBits == 1.5 != (spec.DataBits == 5) && spec.StopBits != 1)
        {
            throw Unsupported(spec, $"{spec.StopBits} stop bits with {spec.DataBits} data bits", "1.5 with 5 data bits, 2 with 6 to 8");
        }
        if (spec.Handshake == SerialHandshake.RtsCts && spec.Rts != LineState.Leave)
        {
            throw Unsupported(spec, "rts together with RTS/CTS flow control", "rts: leave, for the handshake drives that line");
        }
    }

    /// <summary>Raw, with the speed, frame and flow control asked for; HUPCL only where the spec says.</summary>
    public static Termios2 Apply(SerialLinkSpec spec, Termios2 settings)
    {
        settings.MakeRaw();
        settings.SetSpeed((uint)spec.Baud);
        uint control = settings.ControlFlags & ~(Termios2.CSIZE | Termios2.CSTOPB | Termios2.PARENB | Termios2.PARODD | Termios2.CMSPAR | Termios2.CRTSCTS);
        control |= spec.DataBits switch { 5 => Termios2.CS5, 6 => Termios2.CS6, 7 => Termios2.CS7, _ => Termios2.CS8 };
        control |= spec.StopBits > 1 ? Termios2.CSTOPB : 0;
        control |= spec.Parity switch
        {
            SerialParity.Odd => Termios2.PARENB | Termios2.PARODD,
            SerialParity.Even => Termios2.PARENB,
            SerialParity.Mark => Termios2.PARENB | Termios2.CMSPAR | Termios2.PARODD,
            SerialParity.Space => Termios2.PARENB | Termios2.CMSPAR,
            _ => 0,
        };
        if (spec.Handshake == SerialHandshake.RtsCts) { control |= Termios2.CRTSCTS; }
        if (spec.HangUpOnClose is { } hangUp) { control = hangUp ? control | Termios2.HUPCL : control & ~Termios2.HUPCL; }
        settings.ControlFlags = control;
        if (spec.Handshake == SerialHandshake.XonXoff) { settings.UseByteFlowControl(); }
        return settings;
    }

    /// <summary>A driver changes what its hardware cannot do without saying so; only reading back tells.</summary>
    /// <exception cref="LinkException">Unsupported: the port is set otherwise than asked.</exception>
    public static void Verify(SerialLinkSpec spec, in Termios2 asked, in Termios2 actual)
    {
        double speed = actual.OutputSpeed;
        if (Math.Abs(speed - spec.Baud) > spec.Baud * SpeedTolerance)
        {
            throw Unsupported(spec, $"baud {spec.Baud}", string.Create(CultureInfo.InvariantCulture, $"a speed the port can do; it set itself to {speed}"));
        }
        const uint Frame = Termios2.CSIZE | Termios2.CSTOPB | Termios2.PARENB | Termios2.PARODD | Termios2.CMSPAR | Termios2.CRTSCTS;
        if ((asked.ControlFlags & Frame) != (actual.ControlFlags & Frame))
        {
            throw Unsupported(spec, "this combination of data bits, parity, stop bits and handshake", "one that the port's driver accepts");
        }
    }

    private static LinkException Unsupported(SerialLinkSpec spec, string found, string expected) => new(LinkFault.Unsupported,
        string.Create(CultureInfo.InvariantCulture, $"{spec.Port}: {found} cannot be used; expected {expected}; correct it under serial in the rig file"));
}
