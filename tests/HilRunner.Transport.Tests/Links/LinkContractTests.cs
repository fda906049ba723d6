using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Transport.Links;
using HilRunner.Transport.Ports;

namespace HilRunner.Transport.Tests.Links;

[TestFixture]
public sealed class PtyLinkContractTests : LinkContract
{
    protected override bool HangUpMayLeaveAHole => true;

    internal override Pair Connect()
    {
        PtyHost host = PtyHost.Create(Clock);
        return new(Opener.Create(Clock).Open(new PtyLinkSpec(host.Path)), host, host.Vanish);
    }
}

[TestFixture]
public sealed class SerialLinkContractTests : LinkContract
{
    protected override bool HangUpMayLeaveAHole => true;

    internal override Pair Connect()
    {
        PtyHost host = PtyHost.Create(Clock);
        return new(Opener.Create(Clock).Open(new SerialLinkSpec(host.Path, 921_600)), host, host.Vanish);
    }
}

[TestFixture]
public sealed class SerialPortLinkContractTests : LinkContract
{
    protected override bool HangUpMayLeaveAHole => true;

    internal override Pair Connect()
    {
        PtyHost host = PtyHost.Create(Clock);
        return new(SerialPortLink.Open(Clock, new SerialLinkSpec(host.Path, 921_600), new PortLister()), host, host.Vanish);
    }
}

[TestFixture]
public sealed class TcpLinkContractTests : LinkContract
{
    internal override Pair Connect()
    {
        TcpHost host = TcpHost.Listen(Clock, 0);
        return new(Opener.Create(Clock).Open(new TcpLinkSpec("127.0.0.1", host.Port)), host, host.Vanish);
    }
}

/// <summary>A relay program stands between its pipes and a TCP port, so that the far end can be driven from here.</summary>
[TestFixture]
public sealed class ProcessLinkContractTests : LinkContract
{
    internal override Pair Connect()
    {
        TcpHost host = TcpHost.Listen(Clock, 0);
        string address = string.Create(CultureInfo.InvariantCulture, $"TCP:127.0.0.1:{host.Port}");
        return new(Opener.Create(Clock).Open(new ProcessLinkSpec("socat", ["-", address])), host, host.Vanish);
    }
}

[TestFixture]
public sealed class MemoryLinkContractTests : LinkContract
{
    internal override Pair Connect()
    {
        (MemoryLink near, MemoryLink far) = MemoryLink.CreatePair(Clock);
        return new(near, far, far.Dispose);
    }
}

internal static class Opener
{
    public static LinkOpener Create(Core.Time.HostClock clock, PortLister? ports = null) =>
        new(clock, _ => throw new AssertionException("no virtual device is opened here"), ports);
}
