using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Transport.Tests.Decoding;

/// <summary>Device descriptions for tests.</summary>
internal static class Devices
{
    public const string Activity = @"^c (?<n>\d+) (?<class>\w+)( (?<t_us>\d+))?( (?<score>[\d.]+))?$";

    public static readonly Dictionary<string, string> Handling = new()
    {
        ["0"] = "resting", ["1"] = "carried", ["2"] = "conveyed", ["3"] = "dropped",
    };

    public static readonly InputSpec ThreeAxes = new(new SampleRate(50_000),
        [new("ax", 0.001, 8), new("ay", 0.001, 8), new("az", 0.001, 8)]);

    public static DeviceDescription Lines => new()
    {
        Link = new PtyLinkSpec("unused"),
        Framing = new(FramingKind.Lines),
        Hears = new()
        {
            Begin = Text("begin {rate_mhz}"),
            Sample = Text("s {n} {ax} {ay} {az}"),
            End = Text("end"),
        },
        Says = new()
        {
            Decisions = [new("activity", Pattern(Activity), null, null)],
            Credit = Pattern(@"^k (?<n>\d+)$"),
            Booted = Pattern(@"^boot (?<version>\S+)"),
            Sample = Pattern(@"^d (?<n>\d+) (?<ax>-?\d+) (?<ay>-?\d+) (?<az>-?\d+)$"),
        },
        Classes = Handling,
        Input = ThreeAxes,
        Identity = new(Text("id"), Pattern(@"^id (?<product>\S+) (?<version>\S+)( (?<image>[0-9a-f]+))?( slot (?<slot>\d))?$")),
        Clock = new(Text("t {token}"), Pattern(@"^t (?<token>\d+) (?<t_us>\d+)$"), 32, 1000, TimeSpan.FromMilliseconds(500), 500),
    };

    public static DeviceDescription Binary => Lines with
    {
        Framing = new(FramingKind.Cobs) { Crc = "CRC-16/IBM-3740", TypeField = FieldType.U8 },
        Hears = new()
        {
            Begin = Fields(1, new BinaryField("rate_mhz", FieldType.U32Le)),
            Sample = new(null, new(2, [new("n", FieldType.U32Le)])
            {
                Repeat = [new("ax", FieldType.I16Le), new("ay", FieldType.I16Be), new("az", FieldType.I24Le)],
            }),
            End = Fields(3),
            SamplesPerMessage = 4,
        },
        Says = new()
        {
            Decisions =
            [
                new("activity", Layout(0x81, new BinaryField("n", FieldType.U32Le), new("class", FieldType.U8), new("t_us", FieldType.U32Le), new("score", FieldType.U8, 0.01)),
                    new(0x07, 0), null),
                new("shake", Layout(0x81, new BinaryField("n", FieldType.U32Le), new("class", FieldType.U8), new("t_us", FieldType.U32Le), new("score", FieldType.U8, 0.01)),
                    new(0x18, 3), new Dictionary<string, string> { ["1"] = "shaken" }),
            ],
            Credit = Layout(0x82, new BinaryField("n", FieldType.U32Be)),
            Booted = Layout(0x83, new BinaryField("major", FieldType.U8), new("_", FieldType.U8), new("minor", FieldType.U8)),
            Sample = new(null, new(0x84, [new("n", FieldType.U32Le)])
            {
                Repeat = [new("ax", FieldType.F32Le), new("ay", FieldType.F64Be), new("az", FieldType.I16Le, 0.5)],
            }),
        },
        Identity = new(Fields(4), Layout(0x85, new BinaryField("version", FieldType.U16Le), new("_", FieldType.U8, 1, 0x42))),
        Clock = new(Fields(5, new BinaryField("token", FieldType.U16Le)), Layout(0x86, new BinaryField("token", FieldType.U16Le), new("t_us", FieldType.U32Le)), 32, 1000, TimeSpan.FromMilliseconds(500), 500),
    };

    public static OutgoingMessage Text(string template) => new(template, null);

    public static OutgoingMessage Fields(long type, params BinaryField[] fields) => new(null, new(type, fields));

    public static IncomingMessage Pattern(string pattern) => new(pattern, null);

    public static IncomingMessage Layout(long type, params BinaryField[] fields) => new(null, new(type, fields));

    public static DeviceDescription Says(Func<Says, Says> change) => Lines with { Says = change(Lines.Says) };
}

/// <summary>Keeps copies of what a decoder hands over.</summary>
internal sealed class Messages : IMessageSink
{
    public List<DeviceMessage> All { get; } = [];
    public List<double[]> Values { get; } = [];

    public void OnMessage(in DeviceMessage message)
    {
        All.Add(message);
        Values.Add(message.Values.ToArray());
    }

    public static Messages Decode(IDeviceDecoder decoder, ReadOnlySpan<byte> bytes, int chunk = 7)
    {
        var messages = new Messages();
        for (int at = 0; at < bytes.Length; at += chunk)
        {
            decoder.Feed(bytes.Slice(at, Math.Min(chunk, bytes.Length - at)), new(at), messages);
        }
        return messages;
    }
}
