using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Device.Tests;

/// <summary>A running device on a scripted link.</summary>
internal sealed class Bench : IDisposable
{
    public Bench(VirtualDeviceOptions options, TimeProvider? time = null)
    {
        Clock = new(time ?? TimeProvider.System);
        Link = new(Clock);
        Device = new(options, TestMotion.Model, Link, Clock, Witness);
        Device.Start();
    }

    public HostClock Clock { get; }
    public Witness Witness { get; } = new();
    public ScriptedLink Link { get; }
    public VirtualDevice Device { get; }

    public void Dispose() => Device.Dispose();
}
