using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Playing;

/// <summary>Writes to the device and keeps in the capture what was written, with its time. Allocates nothing unless it fails.</summary>
/// <param name="limit">How long the device may take to accept what is written.</param>
/// <param name="notAccepted">What it means, in this part of a run, that it did not.</param>
internal sealed class DeviceWriter(ILink link, ICaptureWriter capture, TimeSpan limit, Func<string, RunEndedException> notAccepted)
{
    /// <returns>When the first byte was handed over.</returns>
    /// <exception cref="RunEndedException">The link was lost, or the device did not accept it in time.</exception>
    public HostTime Send(ReadOnlySpan<byte> bytes)
    {
        try
        {
            HostTime at = link.Write(bytes, limit);
            capture.Bytes(CaptureKind.ToDevice, at, bytes);
            return at;
        }
        catch (LinkException fault) when (fault.Fault == LinkFault.WriteTimeout) { throw notAccepted(fault.Message); }
        catch (LinkException fault) { throw new RunEndedException(EndCause.LinkLost, fault.Message); }
    }
}
