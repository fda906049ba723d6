using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Transport.Decoding;

namespace HilRunner.Emulated.Tests.Models;

/// <summary>Feeds motion to an emulated device through its UART as fast as its credit allows, and gives what it reported.</summary>
internal sealed class ModelFeed : ILinkReceiver, IMessageSink, IDisposable
{
    private const int Block = 32;
    private const int Window = 256;
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(20);
    private readonly Emulator _device;
    private readonly DeviceDescription _description;
    private readonly IDeviceFormat _format;
    private readonly IDeviceDecoder _decoder;
    private readonly object _gate = new();
    private readonly List<Reported> _reported = [];
    private readonly SampleRate _rate;
    private long _consumed = -1;
    private ulong _time;
    private bool _booted;

    /// <param name="image">Built for COBS frames and from this model.</param>
    public ModelFeed(string image, MotionModel model)
    {
        _rate = model.Rate;
        _description = Description(model);
        _format = new DeviceFormatFactory().Create(_description);
        _decoder = _format.NewDecoder();
        _device = new(image);
        _device.Link.Start(this);
        Wait(() => _booted, "the banner");
    }

    /// <summary>One run from begin to end.</summary>
    public List<Reported> Run(int[][] counts)
    {
        int samples = counts[0].Length;
        lock (_gate)
        {
            _reported.Clear();
            _consumed = -1;
        }
        Write(_format.Begin(_rate, samples));
        for (int n = 0; n < samples; n += Block)
        {
            int count = Math.Min(Block, samples - n);
            Wait(() => _consumed >= n + count - 1 - Window, $"credit for sample {n}");
            Write(_format.Samples(counts, n, count));
        }
        Write(_format.End(samples));
        Wait(() => _consumed == samples - 1, "the last credit");
        // Answers come in order: when this one is here, every decision is.
        ulong token = (ulong)samples;
        Write(_format.Message(_description.Clock!.Ask, token));
        Wait(() => _time == token, "the time after the end");
        Assert.That((_decoder.Counts.FramesBad, _decoder.Counts.LinesUnknown), Is.EqualTo((0L, 0L)));
        lock (_gate) { return [.. _reported]; }
    }

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        lock (_gate)
        {
            _decoder.Feed(bytes, arrival, this);
            Monitor.PulseAll(_gate);
        }
    }

    public void OnLost(LinkException cause, HostTime at)
    {
    }

    public void OnMessage(in DeviceMessage message)
    {
        switch (message.Kind)
        {
            case MessageKind.Booted: _booted = true; break;
            case MessageKind.Credit: _consumed = message.N!.Value; break;
            case MessageKind.Clock: _time = message.Token!.Value; break;
            case MessageKind.Decision: _reported.Add(new(message.N!.Value, message.Class!, (int)Math.Round(message.Confidence!.Value * 1000))); break;
        }
    }

    public void Dispose()
    {
        _device.Dispose();
        _decoder.Dispose();
        _format.Dispose();
    }

    private void Write(byte[] bytes) => _device.Link.Write(bytes, s_limit);

    private void Wait(Func<bool> done, string what)
    {
        HostTime end = Emulator.Clock.Now + s_limit;
        lock (_gate)
        {
            while (!done())
            {
                if (Emulator.Clock.Now > end) { Assert.Fail($"waited {s_limit.TotalSeconds} s for {what}; consumed {_consumed}, {_reported.Count} decisions"); }
                Monitor.Wait(_gate, 1000);
            }
        }
    }

    private static DeviceDescription Description(MotionModel model)
    {
        string repeat = string.Join(", ", model.Channels.Select(c => $"{{{c.Name}: i16}}"));
        string channels = string.Join(", ", model.Channels.Select(c => c.Name.StartsWith('a') ? $"{c.Name}: {{count: 1 mg, range: 8 g}}" : $"{c.Name}: {{count: 0.1 dps, range: 2000 dps}}"));
        string classes = string.Join(", ", model.Classes.Select((c, i) => $"{i}: {c}"));
        string text = $$$"""
            rig: feed
            device:
              link: {process: {program: none}}
              framing: {cobs: {crc: CRC-16/IBM-3740, crc_order: little, type: u8, max_length: 512}}
              hears:
                begin: {type: 0x01, fields: [{rate_mhz: u32}]}
                sample: {type: 0x02, fields: [{n: u32}], repeat: [{{{repeat}}}]}
                samples_per_message: {{{Block}}}
                end: {type: 0x03, fields: []}
              says:
                decisions:
                  reported: {type: 0x82, fields: [{n: u32}, {class: u8}, {t_us: u32}, {score: u16, scale: 0.001}]}
                credit: {type: 0x83, fields: [{n: u32}]}
                booted: {type: 0x88, fields: [{version: u32}]}
              classes: { {{{classes}}} }
              input: {rate: {{{(model.Rate.MilliHertz / 1000m).ToString(CultureInfo.InvariantCulture)}}} Hz, channels: { {{{channels}}} }}
              clock: {ask: {type: 0x05, fields: [{token: u32}]}, answer: {type: 0x85, fields: [{token: u32}, {t_us: u32}]}, bits: 32}
            """;
        return RigFile.Parse(text, "feed.yaml").Device;
    }
}
