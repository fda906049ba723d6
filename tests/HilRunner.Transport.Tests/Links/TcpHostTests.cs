using System.Net.Sockets;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;

namespace HilRunner.Transport.Tests.Links;

[TestFixture]
public sealed class TcpHostTests
{
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(5);
    private readonly HostClock _clock = new(TimeProvider.System);

    [Test]
    public void Clients_come_and_go_and_the_host_stays()
    {
        using TcpHost host = TcpHost.Listen(_clock, 0);
        var heard = new Recorder();
        host.Start(heard);
        for (byte n = 1; n <= 5; n++)
        {
            using var client = new TcpClient("127.0.0.1", host.Port);
            NetworkStream stream = client.GetStream();
            stream.WriteByte(n);
            heard.WaitForBytes(n);
            host.Write([n], Limit);
            Assert.That(stream.ReadByte(), Is.EqualTo(n));
            client.Close();
        }
        Assert.That(heard.Bytes, Is.EqualTo([1, 2, 3, 4, 5]));
        Assert.That(heard.LostCount, Is.Zero);
    }

    [Test]
    public void A_second_client_is_turned_away_at_once_and_the_first_keeps_its_place()
    {
        using TcpHost host = TcpHost.Listen(_clock, 0);
        host.Start(new Recorder());
        using var first = new TcpClient("127.0.0.1", host.Port);
        host.Write([1], Limit);
        Assert.That(first.GetStream().ReadByte(), Is.EqualTo(1));
        using var second = new TcpClient("127.0.0.1", host.Port) { ReceiveTimeout = 2000 };
        Assert.That(second.GetStream().ReadByte(), Is.EqualTo(-1));
        host.Write([2], Limit);
        Assert.That(first.GetStream().ReadByte(), Is.EqualTo(2));
    }

    [Test]
    public void A_write_without_a_client_waits_no_longer_than_its_limit()
    {
        using TcpHost host = TcpHost.Listen(_clock, 0);
        var failure = Assert.Throws<LinkException>(() => host.Write([1], TimeSpan.FromMilliseconds(50)))!;
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.WriteTimeout));
        Within.Seconds(1, "Dispose", host.Dispose);
    }

    [Test]
    public void Disposing_wakes_a_write_that_waits_for_a_client()
    {
        using TcpHost host = TcpHost.Listen(_clock, 0);
        Within.Running writing = Within.Begin(() => host.Write([1], TimeSpan.FromSeconds(20)));
        Within.Seconds(1, "Dispose", host.Dispose);
        Assert.That(Assert.Throws<LinkException>(() => writing.End(1, "the waiting write"))!.Fault, Is.EqualTo(LinkFault.Lost));
    }

    [Test]
    public void A_port_that_is_taken_is_busy()
    {
        using TcpHost host = TcpHost.Listen(_clock, 0);
        Assert.That(Assert.Throws<LinkException>(() => TcpHost.Listen(_clock, host.Port))!.Fault, Is.EqualTo(LinkFault.Busy));
    }
}
