using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Signals;

namespace HilRunner.Engine.Plans;

/// <summary>Turns a stimulus into frames, or the wish to listen into a plan.</summary>
public static class PlanBuilder
{
    /// <summary>A plan that injects nothing: the device is recorded, or moved by hand.</summary>
    /// <param name="needsMeasured">The device is made to say what it measures, and must.</param>
    public static PlayPlan Listen(DeviceDescription device, IDeviceFormat format, TimeSpan lead, TimeSpan listen, bool needsMeasured, string folder) => new()
    {
        Folder = folder,
        Rate = device.Input.Rate,
        Speed = 1,
        SampleCount = 0,
        LeadSamples = (int)device.Input.Rate.SamplesBefore(new(lead.Ticks * 100)),
        SamplesPerFrame = 1,
        Frames = [],
        FrameEnds = [],
        ListenNs = listen.Ticks * 100,
        StreamOn = device.Hears.Stream is { } on ? format.Message(on.On) : [],
        StreamOff = device.Hears.Stream?.Off is { } off ? format.Message(off) : [],
        NeedsMeasured = needsMeasured,
    };

    /// <exception cref="InvalidDataException">The frames of this stimulus do not fit in one plan (2 GB).</exception>
    public static PlayPlan Build(Stimulus stimulus, DeviceDescription device, IDeviceFormat format, decimal? speed, string folder)
    {
        int perFrame = device.Hears.SamplesPerMessage;
        int frameCount = (stimulus.SampleCount + perFrame - 1) / perFrame;
        var ends = new int[frameCount];
        var frames = new MemoryStream();
        for (int i = 0; i < frameCount; i++)
        {
            int first = i * perFrame;
            frames.Write(format.Samples(stimulus.Counts, first, Math.Min(perFrame, stimulus.SampleCount - first)));
            if (frames.Length > Array.MaxLength)
            {
                throw new InvalidDataException(
                    $"the frames of {stimulus.SampleCount} samples take more than 2 GB; cut the scenario into several");
            }
            ends[i] = (int)frames.Length;
        }
        return new PlayPlan
        {
            Folder = folder,
            Rate = stimulus.Rate,
            Speed = speed,
            SampleCount = stimulus.SampleCount,
            LeadSamples = stimulus.LeadSamples,
            SamplesPerFrame = perFrame,
            Begin = format.Begin(stimulus.Rate, stimulus.SampleCount),
            End = format.End(stimulus.SampleCount),
            Frames = frames.ToArray(),
            FrameEnds = ends,
        };
    }
}
