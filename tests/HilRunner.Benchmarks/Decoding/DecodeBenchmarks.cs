using BenchmarkDotNet.Attributes;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Transport.Decoding;
using HilRunner.Transport.Framing;

namespace HilRunner.Benchmarks.Decoding;

/// <summary>Received bytes to messages: 64 KiB of decisions and credit a call, in chunks of 64 bytes as a serial port gives them.</summary>
[Config(typeof(ShortInProcess))]
public class DecodeBenchmarks : IMessageSink
{
    private const int StreamBytes = 65_536;
    private const int ChunkBytes = 64;
    private IDeviceDecoder _lines = null!, _cobs = null!, _general = null!;
    private byte[] _lineStream = null!, _cobsStream = null!;

    /// <summary>So that a decoder that finds nothing cannot look fast.</summary>
    private long _messages;

    private const string Decision = @"^c (?<n>\d+) (?<class>\w+)( (?<t_us>\d+))?( (?<score>[\d.]+))?$";

    [GlobalSetup]
    public void Setup()
    {
        _lines = NewLinesDecoder();
        // A look-ahead keeps the same pattern away from the table.
        _general = NewDecoder(new(FramingKind.Lines), new("^(?=c)" + Decision[1..], null), new(@"^(?=k)k (?<n>\d+)$", null));
        var framing = new FramingSpec(FramingKind.Cobs) { Crc = "CRC-16/IBM-3740", TypeField = FieldType.U8 };
        _cobs = NewDecoder(framing,
            new(null, new(0x81, [new("n", FieldType.U32Le), new("class", FieldType.U8), new("t_us", FieldType.U32Le), new("score", FieldType.U8, 0.01)])),
            new(null, new(0x82, [new("n", FieldType.U32Le)])));
        _lineStream = Repeat([.. "c 123456 carried 7654321 0.75\nk 123712\n"u8]);
        FramingCodec codec = FramingCodec.Create(framing);
        _cobsStream = Repeat([.. codec.Frame([0x81, 64, 226, 1, 0, 1, 177, 203, 116, 0, 75]), .. codec.Frame([0x82, 64, 227, 1, 0])]);
    }

    [Benchmark]
    public long Lines() => Feed(_lines, _lineStream);

    [Benchmark]
    public long LinesByGeneralEngine() => Feed(_general, _lineStream);

    [Benchmark]
    public long Cobs() => Feed(_cobs, _cobsStream);

    public void OnMessage(in DeviceMessage message) => _messages++;

    private long Feed(IDeviceDecoder decoder, byte[] stream)
    {
        long before = _messages;
        for (int at = 0; at < stream.Length; at += ChunkBytes)
        {
            decoder.Feed(stream.AsSpan(at, Math.Min(ChunkBytes, stream.Length - at)), new(at), this);
        }
        return _messages > before ? _messages : throw new InvalidOperationException("nothing was decoded");
    }

    private static byte[] Repeat(byte[] unit) => [.. Enumerable.Repeat(unit, StreamBytes / unit.Length).SelectMany(u => u)];

    /// <summary>For decisions and credit as the built-in protocol writes them.</summary>
    internal static IDeviceDecoder NewLinesDecoder() =>
        NewDecoder(new(FramingKind.Lines), new(Decision, null), new(@"^k (?<n>\d+)$", null));

    private static IDeviceDecoder NewDecoder(FramingSpec framing, IncomingMessage decision, IncomingMessage credit)
    {
        bool text = framing.Kind == FramingKind.Lines;
        using IDeviceFormat format = new DeviceFormatFactory().Create(new()
        {
            Link = new PtyLinkSpec("unused"),
            Framing = framing,
            Hears = new() { Sample = text ? new("s {n} {ax}", null) : new(null, new(1, [new("ax", FieldType.I16Le)])) },
            Says = new() { Decisions = [new("activity", decision, null, null)], Credit = credit },
            Input = new(new(50_000), [new("ax", 0.001, 8)]),
        });
        return format.NewDecoder();
    }
}
