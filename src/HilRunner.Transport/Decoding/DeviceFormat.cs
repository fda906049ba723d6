using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Decoding;

/// <summary>A device's format as its rig describes it, in text or binary frames.</summary>
internal sealed class DeviceFormat : IDeviceFormat
{
    private readonly DeviceDescription _device;
    private readonly FramingCodec _framing;
    private readonly MessageEncoder? _begin, _sample, _end;
    private readonly IncomingFormats _incoming;

    public DeviceFormat(DeviceDescription device)
    {
        _device = device;
        FramingSpec framing = device.Framing;
        _framing = FramingCodec.Create(framing);
        if (device.Hears.SamplesPerMessage is < 1 or > 1024)
        {
            throw new InvalidDataException($"hears: samples_per_message {device.Hears.SamplesPerMessage}; expected 1 to 1024");
        }
        string[] channels = [.. device.Input.Channels.Select(c => c.Name)];
        _begin = device.Hears.Begin is { } begin ? MessageEncoder.Create(begin, framing.TypeField, OutgoingScope.Begin) : null;
        _sample = device.Hears.Sample is { } sample
            ? MessageEncoder.Create(sample, framing.TypeField, OutgoingScope.Samples(channels, device.Hears.SamplesPerMessage))
            : null;
        _end = device.Hears.End is { } end ? MessageEncoder.Create(end, framing.TypeField, OutgoingScope.End) : null;
        foreach ((string where, OutgoingMessage? message) in Others(device))
        {
            if (message is not null) { MessageEncoder.Create(message, framing.TypeField, OutgoingScope.Other(where)); }
        }
        _incoming = new(device, channels);
        // Faults of the descriptions of what is received show here too, not at the first decoder.
        _incoming.NewFormats();
        _incoming.NewIgnored();
    }

    public byte[] Begin(SampleRate rate, long sampleCount) =>
        _begin is null ? [] : _framing.Frame(_begin.Encode(new([], 0, sampleCount, rate.MilliHertz, 0), 0));

    public byte[] Samples(IReadOnlyList<int[]> counts, int first, int count)
    {
        ArgumentOutOfRangeException.ThrowIfNotEqual(counts.Count, _device.Input.Channels.Count);
        ArgumentOutOfRangeException.ThrowIfNegative(first);
        ArgumentOutOfRangeException.ThrowIfLessThan(count, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(count, _device.Hears.SamplesPerMessage);
        if (_sample is null) { throw new InvalidOperationException("this device hears no samples"); }
        return _framing.Frame(
            _sample.Encode(new(counts, first, count, 0, 0) { SamplesPerMessage = _device.Hears.SamplesPerMessage }, count));
    }

    public byte[] End(long sampleCount) => _end is null ? [] : _framing.Frame(_end.Encode(new([], 0, sampleCount, 0, 0), 0));

    public byte[] Message(OutgoingMessage message, ulong token = 0) =>
        _framing.Frame(MessageEncoder.Create(message, _device.Framing.TypeField, OutgoingScope.Other("send")).Encode(new([], 0, 0, 0, token), 0));

    public IDeviceDecoder NewDecoder() =>
        new DeviceDecoder(_framing.NewDeframer(), _incoming.NewFormats(), _incoming.NewIgnored());

    public void Dispose()
    {
        // Holds memory only.
    }

    private static (string Where, OutgoingMessage? Message)[] Others(DeviceDescription device) =>
        [("identity: ask", device.Identity?.Ask), ("clock: ask", device.Clock?.Ask),
            ("says: counters: ask", device.Says.Counters?.Ask),
                ("poll: send", device.Poll?.Send), ("wake: send", device.Wake?.Send),
            ("hears: stream: on", device.Hears.Stream?.On), ("hears: stream: off", device.Hears.Stream?.Off)];
}
