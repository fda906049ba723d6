using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Recorders;

namespace HilRunner.Engine.Prompting;

/// <summary>What the device measured while it was moved by hand, out of the capture: on the stimulus axis, gaps left as they are.</summary>
public sealed class MeasuredMotion : IMessageSink
{
    /// <summary>How much of the motion before and after a prompt is looked at.</summary>
    private static readonly TimeSpan s_before = TimeSpan.FromSeconds(2), s_after = TimeSpan.FromSeconds(5);

    private readonly DeviceDescription _device;
    private readonly SampleOrder _order;
    private readonly List<Stretch> _stretches = [];
    private bool _begun;

    private MeasuredMotion(DeviceDescription device)
    {
        _device = device;
        _order = new(device);
    }

    /// <summary>Unbroken samples.</summary>
    private sealed record Stretch(ArrivalLine Arrivals, List<double>[] Values)
    {
        public int Count => Values[0].Count;
    }

    public long Lost => _order.Lost;
    /// <summary>Start of stimulus time, on the capture's clock; null: it never came to that.</summary>
    public HostTime? Origin { get; private set; }
    public bool Any => _stretches.Count > 0;

    public static MeasuredMotion Read(DeviceDescription device, IDecoderSource decoders, ICaptureReader capture)
    {
        var motion = new MeasuredMotion(device);
        using IDeviceDecoder decoder = decoders.NewDecoder();
        while (capture.TryRead(out CaptureRecord record))
        {
            if (record.Kind == CaptureKind.FromDevice) { decoder.Feed(record.Bytes.Span, record.At, motion); }
            else if (record.Event is { } happened) { motion.OnEvent(happened, record.At, capture); }
        }
        return motion;
    }

    public void OnMessage(in DeviceMessage message)
    {
        if (!_begun) { return; }
        if (message.Kind == MessageKind.Booted) { _order.Restart(); }
        if (message.Kind != MessageKind.Sample) { return; }
        SamplePlace place = _order.Place(message, out _);
        if (place == SamplePlace.Repeated) { return; }
        if (_stretches.Count == 0 || place == SamplePlace.AfterGap)
        {
            _stretches.Add(new(new(_device.Input.Rate), [.. _device.Input.Channels.Select(_ => new List<double>())]));
        }
        Stretch stretch = _stretches[^1];
        stretch.Arrivals.Add(message.FirstByte);
        for (int i = 0; i < stretch.Values.Length; i++) { stretch.Values[i].Add(message.Values.Span[i] * _device.Input.Channels[i].UnitsPerCount); }
    }

    /// <summary>Where the motion changed after each prompt: within the five seconds after it was told, against the two before.</summary>
    public IReadOnlyList<HandMark> Onsets(PromptSchedule schedule)
    {
        var found = new List<HandMark>();
        if (Origin is not { } origin) { return found; }
        for (int i = 0; i < schedule.Prompts.Count; i++)
        {
            Prompt prompt = schedule.Prompts[i];
            var from = new HostTime(origin.Ns + prompt.Start.Ns) - s_before;
            var told = new HostTime(origin.Ns + prompt.Start.Ns);
            var to = new HostTime(origin.Ns + Math.Min(prompt.End.Ns, prompt.Start.Ns + s_after.Ticks * 100));
            if (ChangeBetween(from, told, to) is { } at) { found.Add(new(i, HandMarkKind.Motion, new(at - origin), at.Ns)); }
        }
        return found;
    }

    /// <summary>Channel → values at the rig's rate from the origin on, each the nearest sample; in a gap the last one before it stands.</summary>
    public IReadOnlyDictionary<string, double[]> OnAxis(StimulusTime end)
    {
        var channels = _device.Input.Channels.Select((c, i) => (c.Name, Values: new double[(int)_device.Input.Rate.SamplesBefore(end)], Index: i)).ToList();
        if (Origin is { } origin && Any)
        {
            int next = 0;
            for (int n = 0; n < channels[0].Values.Length; n++)
            {
                var at = new HostTime(origin.Ns + _device.Input.Rate.TimeOf(n).Ns);
                while (next + 1 < _stretches.Count && _stretches[next + 1].Arrivals.TimeOf(0) <= at) { next++; }
                Stretch stretch = _stretches[next];
                int index = (int)Math.Clamp(stretch.Arrivals.IndexAt(at), 0, stretch.Count - 1);
                foreach (var (_, values, channel) in channels) { values[n] = stretch.Values[channel][index]; }
            }
        }
        return channels.ToDictionary(c => c.Name, c => c.Values);
    }

    private void OnEvent(RunEvent happened, HostTime at, ICaptureReader capture)
    {
        if (happened.Name == RunEventNames.Step && happened.Details.GetValueOrDefault("step") == "begin") { _begun = true; }
        if (happened.Name == RunEventNames.Origin)
        {
            Origin = happened.Moment("unix_ns", at, capture);
        }
    }

    private HostTime? ChangeBetween(HostTime from, HostTime told, HostTime to)
    {
        int[] axes = [.. _device.Input.Channels.Index().Where(c => c.Item.Name[0] == 'a').Select(c => c.Index)];
        foreach (var stretch in _stretches)
        {
            int first = (int)Math.Clamp(stretch.Arrivals.IndexAt(from), 0, stretch.Count);
            int end = (int)Math.Clamp(stretch.Arrivals.IndexAt(to), 0, stretch.Count);
            // A gap round the prompt: a change across it would be of the gap's making.
            if (stretch.Arrivals.TimeOf(0) > told || stretch.Arrivals.TimeOf(stretch.Count - 1) < told || axes.Length == 0) { continue; }
            double[] magnitude = [.. Enumerable.Range(first, Math.Max(0, end - first)).Select(n => Math.Sqrt(axes.Sum(a => stretch.Values[a][n] * stretch.Values[a][n])))];
            if (OnsetFinder.Find(magnitude) is { } change) { return stretch.Arrivals.TimeOf(first + change); }
        }
        return null;
    }
}
