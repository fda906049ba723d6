using System.Reactive.Linq;
using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Time;
using HilRunner.Engine.Plans;

namespace HilRunner.Application.Playing;

/// <param name="SamplesSent">Stimulus samples handed to the link so far, lead included.</param>
/// <param name="Class">What the device said last; null: nothing yet.</param>
internal sealed record RunProgress(int SamplesSent, int SampleCount, int LeadSamples, SampleRate Rate, string? Class);

/// <summary>Follows a run under way by reading its capture as it grows. It may fall behind or fail; the run does not notice.</summary>
internal sealed class RunFollower : IMessageSink, IDisposable
{
    private readonly ICaptureStore _captures;
    private readonly PlayPlan _plan;
    private readonly IDeviceDecoder _decoder;
    private readonly string _capturePath;
    private ICaptureReader? _capture;
    private long _bytesSent = -1;
    private string? _class;

    public RunFollower(ICaptureStore captures, PlayPlan plan, IDeviceFormat format, string capturePath)
    {
        _captures = captures;
        _plan = plan;
        _decoder = format.NewDecoder();
        _capturePath = capturePath;
    }

    /// <summary>A reading every so often, on a pool thread, as long as somebody is subscribed.</summary>
    public IObservable<RunProgress> Every(TimeSpan period) => Observable.Interval(period).Select(_ => Read()).DistinctUntilChanged();

    public void OnMessage(in DeviceMessage message)
    {
        if (message.Kind == MessageKind.Decision) { _class = message.Class; }
    }

    public void Dispose()
    {
        _capture?.Dispose();
        _decoder.Dispose();
    }

    private RunProgress Read()
    {
        if (_capture is null && File.Exists(_capturePath)) { _capture = _captures.Open(_capturePath); }
        while (_capture is not null && _capture.TryRead(out CaptureRecord record))
        {
            if (record.Kind == CaptureKind.FromDevice) { _decoder.Feed(record.Bytes.Span, record.At, this); }
            else if (record.Kind == CaptureKind.ToDevice && _bytesSent >= 0) { _bytesSent += record.Bytes.Length; }
            else if (record.Event?.Name == RunEventNames.Origin) { _bytesSent = 0; }
        }
        int frame = Array.BinarySearch(_plan.FrameEnds, (int)Math.Clamp(_bytesSent, 0, int.MaxValue));
        int frames = frame >= 0 ? frame + 1 : ~frame;
        int samples = Math.Min(_plan.SampleCount, frames * _plan.SamplesPerFrame);
        return new(samples, _plan.SampleCount, _plan.LeadSamples, _plan.Rate, _class);
    }
}
