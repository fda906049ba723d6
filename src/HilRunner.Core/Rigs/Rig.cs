using HilRunner.Core.Links;
using HilRunner.Core.Shakers;

namespace HilRunner.Core.Rigs;

/// <summary>One bench position, as its rig file describes it.</summary>
public sealed record Rig
{
    public required string Name { get; init; }
    public required DeviceDescription Device { get; init; }
    /// <summary>Sent before every run, so that no state leaks from run to run.</summary>
    public SendStep? BeforeEach { get; init; }
    /// <summary>Flashes and powers the device, in order, before the first run.</summary>
    public IReadOnlyList<PrepareStep> Prepare { get; init; } = [];
    /// <summary>What the steps may erase without asking.</summary>
    public Erasure MayErase { get; init; }
    /// <summary>Reads back the image that is on the device into {kept}, before anything is erased; null: it cannot be read.</summary>
    public ProgramStep? ReadBack { get; init; }
    /// <summary>What feeds the device and can be switched; null: nothing that this tool reaches.</summary>
    public Supply? Supply { get; init; }
    public Recovery Recovery { get; init; } = new();
    /// <summary>The table that the device is mounted on; null: none.</summary>
    public Shaker? Shaker { get; init; }
    public HealthLimits Health { get; init; } = new();
}

/// <param name="Wait">How long to wait after sending, at most, for <paramref name="Until"/>; or simply that long.</param>
/// <param name="Until">Name of a message under says (for instance booted) that ends the wait.</param>
public sealed record SendStep(OutgoingMessage Send, TimeSpan Wait, string? Until);

/// <summary>What the rig itself must keep to; beyond these a run proves nothing about the device.</summary>
public sealed record HealthLimits
{
    /// <summary>Latest a sample may be after it was due. Default 5 ms.</summary>
    public TimeSpan Late { get; init; } = TimeSpan.FromMilliseconds(5);
    /// <summary>Samples that may be lost. Default 0.</summary>
    public long Lost { get; init; }
    /// <summary>Largest half-width of the clock map. Default 2 ms. Judged only where device time is used.</summary>
    public TimeSpan Clock { get; init; } = TimeSpan.FromMilliseconds(2);
    /// <summary>Damaged frames from the device that may be seen. Default 0.</summary>
    public long FramesBad { get; init; }
    /// <summary>
    /// Lines or frames that no description fits that may be seen; null: any number, for devices that chat. 0 where the rig
    /// describes all that the device says (<see cref="Says.Ignore"/>).
    /// </summary>
    public long? LinesUnknown { get; init; }
    /// <summary>
    /// Share of unanswered questions beyond which delivery is disproved: its exact one-sided 95 % lower bound. Default 1 %.
    /// </summary>
    public double LostShare { get; init; } = 0.01;
    /// <summary>The run ends when a device with credit gives none, or a playing device is silent, for this long. Default 10 s.</summary>
    public TimeSpan Silence { get; init; } = TimeSpan.FromSeconds(10);
}

public sealed record OnOpen
{
    public LineState Dtr { get; init; }
    public LineState Rts { get; init; }
    /// <summary>How long to wait after opening; at most that long when <see cref="Until"/> is given.</summary>
    public TimeSpan Wait { get; init; }
    /// <summary>Name of a message under says that ends the wait.</summary>
    public string? Until { get; init; }
}

public enum Pace { Host, Credit, Device }

/// <summary>The device and its format, all as data.</summary>
public sealed record DeviceDescription
{
    public required LinkSpec Link { get; init; }
    public OnOpen OnOpen { get; init; } = new();
    public required FramingSpec Framing { get; init; }
    public required Hears Hears { get; init; }
    public required Says Says { get; init; }
    /// <summary>Raw value (as text, integers in decimal) → class name. Empty: classes are named as the device names them.</summary>
    public IReadOnlyDictionary<string, string> Classes { get; init; } = new Dictionary<string, string>();
    /// <summary>The observed class becomes (none) that long after the last message; null for devices that report changes only.</summary>
    public TimeSpan? StaleAfter { get; init; }
    /// <summary>After the last sample the run ends once the device has said nothing for this long. Default 1 s.</summary>
    public TimeSpan Quiet { get; init; } = TimeSpan.FromSeconds(1);
    public Poll? Poll { get; init; }
    public required InputSpec Input { get; init; }
    public IdentityQuery? Identity { get; init; }
    public ClockQuery? Clock { get; init; }
    public Wake? Wake { get; init; }
    public Pace Pace { get; init; }
    /// <summary>
    /// Whether the device's sample numbers count the samples that came. One that is told no number can do nothing else; one that
    /// is told numbers repeats them, unless the rig says otherwise.
    /// </summary>
    public bool CountsSamples =>
        (Says.N ?? (Hears.TellsNumbers ? SampleNumbers.Repeated : SampleNumbers.Counted)) == SampleNumbers.Counted;
    /// <summary>
    /// Samples that may be sent ahead of the device's credit: as many as the rig allows, and at most half of what the credit's
    /// number counts before it begins anew. With more on the way nobody could tell which number it means.
    /// </summary>
    public int CreditWindow => Says.Credit is { } credit && Numbering.Of(this).SamplesUntilWrap(credit) is > 0 and var wraps
        ? (int)Math.Min(Input.Window, Math.Max(1, wraps / 2)) : Input.Window;

    /// <summary>A check sum guards what is sent to the device and what it says.</summary>
    public bool HasCheckSum => Framing.Crc is not null || Framing.Kind == FramingKind.Hdlc;
    /// <summary>Names of the outputs in the order of the rig file.</summary>
    public IReadOnlyList<string> Outputs => [.. Says.Decisions.Select(d => d.Output)];
}

/// <summary>What the device hears. Null: nothing is sent for it.</summary>
public sealed record Hears
{
    public OutgoingMessage? Begin { get; init; }
    /// <summary>Null: nothing can be injected; the device is recorded, or moved by hand.</summary>
    public OutgoingMessage? Sample { get; init; }
    public OutgoingMessage? End { get; init; }
    /// <summary>Makes the device say what its own sensor measures; null: it does so by itself, or never.</summary>
    public StreamSwitch? Stream { get; init; }
    /// <summary>Samples in one message, 1 to 1024. In a template the part in [[ ]] is repeated for each sample.</summary>
    public int SamplesPerMessage { get; init; } = 1;
    /// <summary>The sample message says which sample it is: by n, or by batch.</summary>
    public bool TellsNumbers => Sample is { } sample && sample.Names.Any(n => n is "n" or "batch");
}

/// <summary>What a device's sample numbers are.</summary>
public enum SampleNumbers
{
    /// <summary>What it was told with the sample: proves that this one came.</summary>
    Repeated,
    /// <summary>Its own count of what came: proves that so many did.</summary>
    Counted,
}

/// <summary>A question about the device's own counters: received, bad, lost, overrun, said, dropped, those that it has.</summary>
public sealed record CountersQuery(OutgoingMessage Ask, IncomingMessage Answer)
{
    /// <summary>Names that an answer may hold.</summary>
    public static IReadOnlyList<string> Names { get; } = ["received", "bad", "lost", "overrun", "said", "dropped"];
    /// <summary>They begin at 0 with the begin message; otherwise they run on and the value before begin is taken off.</summary>
    public bool FromBegin { get; init; }
    /// <summary>They wrap at this width, 8 to 64.</summary>
    public int Bits { get; init; } = 32;
    /// <summary>said counts decisions only; otherwise decisions, credit, measured samples and features.</summary>
    public bool SaidCountsDecisions { get; init; }
}

/// <param name="Off">Null: only a reset, or the end of the link, ends it.</param>
public sealed record StreamSwitch(OutgoingMessage On, OutgoingMessage? Off);

/// <summary>What the device says.</summary>
public sealed record Says
{
    public required IReadOnlyList<DecisionFormat> Decisions { get; init; }
    /// <summary>n: samples up to n are consumed.</summary>
    public IncomingMessage? Credit { get; init; }
    /// <summary>The banner after a start: seen in mid-run it is a device reset.</summary>
    public IncomingMessage? Booted { get; init; }
    /// <summary>What the device measured.</summary>
    public IncomingMessage? Sample { get; init; }
    /// <summary>What it computed of a window, for finding where it parts from its model.</summary>
    public IncomingMessage? Features { get; init; }
    /// <summary>The device's own counters; null: it has none that can be asked for.</summary>
    public CountersQuery? Counters { get; init; }
    /// <summary>
    /// Whether the numbers of decisions and credit count what came; null: as <see cref="DeviceDescription.CountsSamples"/> says.
    /// </summary>
    public SampleNumbers? N { get; init; }
    /// <summary>
    /// Widths of the counters of text messages, by group: n, batch, seq. Binary fields have the width of their type.
    /// </summary>
    public IReadOnlyDictionary<string, int> Bits { get; init; } = new Dictionary<string, int>();
    /// <summary>How often a device that reports every window reports; null: not said.</summary>
    public TimeSpan? Every { get; init; }
    /// <summary>
    /// Messages that are known and of no interest. Not null, even where empty: the rig describes all that the device says.
    /// </summary>
    public IReadOnlyList<IncomingMessage>? Ignore { get; init; }
    /// <summary>As the groups or fields of <see cref="Features"/> name them, in their order.</summary>
    public IReadOnlyList<string> FeatureNames => [.. (Features?.Names ?? []).Where(n => n is not ("n" or "_"))];
}

/// <summary>One output of the device.</summary>
/// <param name="Field">Class in a bit field: (value &amp; Mask) &gt;&gt; Shift; null for a plain value or name.</param>
/// <param name="Classes">This output's own mapping; null: the device's.</param>
public sealed record DecisionFormat(string Output, IncomingMessage Message, BitField? Field, IReadOnlyDictionary<string, string>? Classes);

public sealed record BitField(ulong Mask, int Shift);

/// <summary>Exactly one of the two is given.</summary>
/// <param name="Template">Text with placeholders in braces.</param>
public sealed record OutgoingMessage(string? Template, BinaryLayout? Layout)
{
    /// <summary>Names of the template's placeholders or of the frame's fields.</summary>
    public IEnumerable<string> Names =>
        Template is { } text ? MessageShapes.Placeholders(text) : Layout!.Fields.Concat(Layout.Repeat).Select(f => f.Name);
}

/// <summary>Exactly one of the two is given.</summary>
/// <param name="Pattern">A regular expression with named groups: class, n, t_us, score, version …</param>
public sealed record IncomingMessage(string? Pattern, BinaryLayout? Layout)
{
    /// <summary>Names of the pattern's groups or of the frame's fields.</summary>
    public IReadOnlyList<string> Names => MessageShapes.NamesIn(this);
}

/// <summary>A binary frame: its type value (null when the framing has no type field) and its fields, in order.</summary>
public sealed record BinaryLayout(long? Type, IReadOnlyList<BinaryField> Fields)
{
    /// <summary>For blocks: these fields are repeated, once a sample, after <see cref="Fields"/>.</summary>
    public IReadOnlyList<BinaryField> Repeat { get; init; } = [];
}

public enum FieldType { U8, I8, U16Le, U16Be, I16Le, I16Be, U24Le, U24Be, I24Le, I24Be, U32Le, U32Be, I32Le, I32Be, U64Le, U64Be, I64Le, I64Be, F32Le, F32Be, F64Le, F64Be }

/// <param name="Name">As for named groups; "_" is skipped (sent as 0).</param>
/// <param name="Scale">Decoded value = raw × Scale.</param>
/// <param name="Value">Constant: sent so; a received frame with another value here is not this message.</param>
public sealed record BinaryField(string Name, FieldType Type, double Scale = 1, long? Value = null)
{
    /// <summary>What it takes in a frame.</summary>
    public int Bytes => BytesOf(Type);

    /// <summary>What a field of a type takes in a frame.</summary>
    public static int BytesOf(FieldType type) => type switch
    {
        FieldType.U8 or FieldType.I8 => 1,
        FieldType.U16Le or FieldType.U16Be or FieldType.I16Le or FieldType.I16Be => 2,
        FieldType.U24Le or FieldType.U24Be or FieldType.I24Le or FieldType.I24Be => 3,
        FieldType.U32Le or FieldType.U32Be or FieldType.I32Le or FieldType.I32Be or FieldType.F32Le or FieldType.F32Be => 4,
        _ => 8,
    };
}

public enum FramingKind { Lines, Cobs, Slip, Hdlc, Length, Adapter }
public enum ByteOrder { Little, Big }

/// <summary>How bytes become frames. Which entries apply depends on <see cref="Kind"/>.</summary>
public sealed record FramingSpec(FramingKind Kind)
{
    /// <summary>Longest frame in bytes; a longer one is counted bad and dropped up to the next delimiter. 16 to 65536.</summary>
    public int MaxLength { get; init; } = 4096;
    /// <summary>What ends a sent line: \n or \r\n. Received lines may end in either.</summary>
    public string LineEnd { get; init; } = "\n";
    /// <summary>Name of the check sum, as in the docs' table; null: none (hdlc: always CRC-16/IBM-SDLC unless named).</summary>
    public string? Crc { get; init; }
    public ByteOrder CrcOrder { get; init; } = ByteOrder.Little;
    /// <summary>Type field at the start of the payload (cobs, slip, hdlc) or after the length (length); null: no type.</summary>
    public FieldType? TypeField { get; init; }
    /// <summary>length: the bytes that start a frame.</summary>
    public ReadOnlyMemory<byte> Sync { get; init; }
    /// <summary>length: type of the length field.</summary>
    public FieldType LengthField { get; init; } = FieldType.U8;
    /// <summary>length: added to the field's value to get the number of bytes between length field and check sum.</summary>
    public int LengthAdd { get; init; }
    /// <summary>length: true when the check sum covers sync and length too; false: it covers what follows the length field.</summary>
    public bool CrcCoversHeader { get; init; }
    /// <summary>adapter: the program that understands the device.</summary>
    public string? Program { get; init; }
    public IReadOnlyList<string> Arguments { get; init; } = [];
}

public sealed record Poll(OutgoingMessage Send, TimeSpan Every);

/// <param name="Answer">Pattern with named groups: product, version, image, slot …</param>
public sealed record IdentityQuery(OutgoingMessage Ask, IncomingMessage Answer)
{
    /// <summary>What the answer must agree in with the build that was given, before anything is played.</summary>
    public IReadOnlyList<BuildMark> Same { get; init; } = [];
}

/// <summary>Version: the label of the build. Image: the first digits of the image file's SHA-256.</summary>
public enum BuildMark { Version, Image }

/// <param name="TickNs">Length of one tick of the device's clock in ns; 1000 for µs.</param>
/// <param name="Bits">Width of the clock, 8 to 64; it wraps.</param>
/// <param name="TolerancePpm">How far off its rate is at most.</param>
/// <param name="Every">How often it is asked while samples are played; zero: only before and after.</param>
public sealed record ClockQuery(OutgoingMessage Ask, IncomingMessage Answer, int Bits, double TickNs, TimeSpan Every, double TolerancePpm);

public sealed record Wake(OutgoingMessage Send, TimeSpan Delay);

/// <summary>What the device takes in.</summary>
public sealed record InputSpec(Time.SampleRate Rate, IReadOnlyList<InputChannel> Channels)
{
    /// <summary>Samples that may be on the way, sent but not yet consumed, where the device gives credit. 1 to 100000.</summary>
    public int Window { get; init; } = 200;
}

/// <param name="UnitsPerCount">g (ax ay az) or °/s (gx gy gz) of one count.</param>
/// <param name="Range">Full scale ±, in the same unit.</param>
public sealed record InputChannel(string Name, double UnitsPerCount, double Range)
{
    public int MaxCount => (int)Math.Floor(Range / UnitsPerCount + 1e-9);
}
