using System.Globalization;
using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;

namespace HilRunner.Application.HostModels;

/// <summary>What a device said in a play of what it works on: its samples, and the features of its windows, where its rig describes such messages.</summary>
internal sealed class DeviceReport : IMessageSink
{
    private readonly SortedDictionary<long, double[]> _samples = [], _features = [];
    private readonly Rig _rig;

    private DeviceReport(Rig rig) => _rig = rig;

    /// <param name="folder">Of the run.</param>
    public static DeviceReport Read(JobContext context, Rig rig, string folder)
    {
        var report = new DeviceReport(rig);
        if (rig.Device.Says is { Sample: null, Features: null }) { return report; }
        using var format = context.Formats.Create(rig.Device);
        using var decoder = format.NewDecoder();
        using ICaptureReader capture = context.Captures.Open(Path.Combine(folder, RunFiles.Capture));
        while (capture.TryRead(out var record))
        {
            if (record.Kind == CaptureKind.FromDevice) { decoder.Feed(record.Bytes.Span, record.At, report); }
        }
        return report;
    }

    public void OnMessage(in DeviceMessage message)
    {
        if (message.N is not { } n) { return; }
        if (message.Kind == MessageKind.Sample) { _samples[n] = message.Values.ToArray(); }
        else if (message.Kind == MessageKind.Features) { _features[n] = message.Values.ToArray(); }
    }

    /// <summary>Its samples beside those that were sent; null: it said none.</summary>
    public string? Samples(Stimulus stimulus)
    {
        if (_samples.Count == 0) { return null; }
        foreach (var (n, values) in _samples.Where(s => s.Key >= 0 && s.Key < stimulus.SampleCount))
        {
            for (int c = 0; c < stimulus.Counts.Count; c++)
            {
                if (values[c] != stimulus.Counts[c][n])
                {
                    return string.Create(CultureInfo.InvariantCulture, $"the device works on other samples than were played: at sample {n} its {stimulus.ChannelNames[c]} is {values[c]}, and {stimulus.Counts[c][n]} was sent; look at hears.sample in the rig file, then at what the firmware does with it, unless these are its own sensor's");
                }
            }
        }
        return string.Create(CultureInfo.InvariantCulture, $"the samples that the device says it works on are those that were played, all {_samples.Count} of them");
    }

    /// <summary>Its features beside the model's; null: it said none, or the model has none of them.</summary>
    /// <param name="counts">[channel][sample], in the model's order of channels.</param>
    public string? Features(MotionModel model, IReadOnlyList<int[]> counts)
    {
        if (_features.Count == 0) { return null; }
        var names = _rig.Device.Says.FeatureNames;
        var own = ReportedFeatures.Of(model, counts, _features.Keys.ToHashSet(), names);
        int compared = 0, alike = 0;
        string? first = null;
        foreach (var (n, values) in _features)
        {
            if (!own.TryGetValue(n, out var expected))
            {
                first ??= string.Create(CultureInfo.InvariantCulture, $"the device looked at a window that ends with sample {n}, where the model has not seen a whole one");
                continue;
            }
            for (int f = 0; f < names.Count; f++)
            {
                if (expected[f] is not { } value) { continue; }
                compared++;
                if (values[f] == value) { alike++; }
                else { first ??= string.Create(CultureInfo.InvariantCulture, $"the first feature that differs is {ReportedFeatures.InBrackets(names[f])} at sample {n}: {values[f]} on the device, {value} in the model"); }
            }
        }
        if (compared == 0 && first is null) { return null; }
        return first is null ? string.Create(CultureInfo.InvariantCulture, $"all {compared} features that the device said are the model's: what differs comes after them, in thresholds, tree or confirmation")
            : string.Create(CultureInfo.InvariantCulture, $"{first}; {alike} of {compared} features are the model's");
    }
}
