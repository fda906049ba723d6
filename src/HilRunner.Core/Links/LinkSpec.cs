namespace HilRunner.Core.Links;

/// <summary>Which link to open. Written in a rig file or as a URL (<c>--link</c>).</summary>
public abstract record LinkSpec;

public enum LineState { Leave, On, Off }
public enum SerialParity { None, Odd, Even, Mark, Space }
public enum SerialHandshake { None, RtsCts, XonXoff }

/// <param name="Port">A path, or <c>usb:vid:pid[:serial][:interface]</c> (hexadecimal ids).</param>
/// <param name="Baud">Bits per second.</param>
public sealed record SerialLinkSpec(string Port, int Baud) : LinkSpec
{
    public int DataBits { get; init; } = 8;
    public SerialParity Parity { get; init; }
    /// <summary>1, 1.5 or 2.</summary>
    public double StopBits { get; init; } = 1;
    public SerialHandshake Handshake { get; init; }
    public LineState Dtr { get; init; }
    public LineState Rts { get; init; }
    /// <summary>False clears HUPCL, so that closing the port leaves DTR alone. Null leaves the port's setting.</summary>
    public bool? HangUpOnClose { get; init; }
    /// <summary>Bit times of one byte on the wire: start, data, parity and stop bits.</summary>
    public double BitsPerByte => 1 + DataBits + (Parity == SerialParity.None ? 0 : 1) + StopBits;
}

/// <param name="Path">An existing pseudo-terminal (or a symbolic link to one) to open; no baud rate, no lines.</param>
public sealed record PtyLinkSpec(string Path) : LinkSpec;

/// <summary>A TCP connection to a device or a port server.</summary>
public sealed record TcpLinkSpec(string Host, int Port) : LinkSpec;

/// <summary>A program whose stdin and stdout are the link. No shell: each argument is one argument.</summary>
public sealed record ProcessLinkSpec(string Program, IReadOnlyList<string> Arguments) : LinkSpec;

/// <summary>The virtual device: on a pty where there are ptys, otherwise in memory.</summary>
public sealed record BuiltinLinkSpec(VirtualDeviceOptions Options) : LinkSpec;

public enum VirtualDeviceProtocol { Lines, Cobs }

/// <summary>The virtual device and its faults. All faults are off by default; all random ones follow <see cref="Seed"/>.</summary>
public sealed record VirtualDeviceOptions
{
    /// <summary>Path of the model file.</summary>
    public required string Model { get; init; }
    public VirtualDeviceProtocol Protocol { get; init; }
    /// <summary>False: in memory even where there are ptys.</summary>
    public bool Pty { get; init; } = true;
    /// <summary>Credit: how many samples may be on the way. 0: the device gives no credit.</summary>
    public int CreditWindow { get; init; } = 256;
    /// <summary>What the identity answer says.</summary>
    public string Version { get; init; } = "1.0.0";
    public string? Image { get; init; }
    /// <summary>From consuming the sample that decides to making the decision; the time stamp is taken then.</summary>
    public TimeSpan Think { get; init; }
    /// <summary>Added between a decision and its message.</summary>
    public TimeSpan Delay { get; init; }
    /// <summary>What every message takes from the host to the device, and from the device to the host.</summary>
    public TimeSpan LinkIn { get; init; }
    public TimeSpan LinkOut { get; init; }
    /// <summary>Up to this much more for each message, both ways; the order is kept.</summary>
    public TimeSpan LinkJitter { get; init; }
    public TimeSpan ClockOffset { get; init; }
    public double ClockSkewPpm { get; init; }
    /// <summary>Share of bytes from the device that are lost, garbled (one bit flipped) or sent twice, 0 to 1.</summary>
    public double LoseBytes { get; init; }
    public double GarbleBytes { get; init; }
    public double DuplicateBytes { get; init; }
    /// <summary>Sample number (as the device counts) at which it resets, hangs, or its end of the link vanishes.</summary>
    public long? ResetAt { get; init; }
    public long? HangAt { get; init; }
    public long? UnplugAt { get; init; }
    /// <summary>Share of clock questions that are never answered, 0 to 1.</summary>
    public double LoseAnswers { get; init; }
    /// <summary>Wait before each credit message.</summary>
    public TimeSpan SlowCredit { get; init; }
    public ulong Seed { get; init; } = 1;
    /// <summary>Path of the recording that its own sensor feels, over and over; null: rest, with the sensor's noise.</summary>
    public string? Motion { get; init; }
    /// <summary>It classifies what its own sensor feels whenever no run is played into it, as a product in use does.</summary>
    public bool Senses { get; init; }
    /// <summary>What it says, beside its decisions, of what is played into it; text lines only.</summary>
    public DeviceReports Reports { get; init; }
}

public enum DeviceReports
{
    Nothing,
    /// <summary>Every sample that it consumed, as it understood it.</summary>
    Samples,
    /// <summary>The features that its tree asks for, of every window.</summary>
    Features,
}
