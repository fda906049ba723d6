using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;

namespace HilRunner.Transport.Tests.Links;

[TestFixture]
public sealed class PtyHostTests
{
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(5);
    private readonly HostClock _clock = new(TimeProvider.System);

    [Test]
    public void Clients_come_and_go_and_the_host_stays()
    {
        using PtyHost host = PtyHost.Create(_clock);
        var heard = new Recorder();
        host.Start(heard);
        for (byte n = 1; n <= 5; n++)
        {
            using ILink client = Opener.Create(_clock).Open(new PtyLinkSpec(host.Path));
            var answer = new Recorder();
            client.Start(answer);
            client.Write([n], Limit);
            heard.WaitForBytes(n);
            host.Write([n, n], Limit);
            Assert.That(answer.WaitForBytes(2), Is.EqualTo([n, n]));
        }
        Assert.That(heard.Bytes, Is.EqualTo([1, 2, 3, 4, 5]));
        Assert.That(heard.LostCount, Is.Zero);
    }

    [Test]
    public void What_is_said_before_anybody_listens_reaches_the_first_client_and_is_not_echoed()
    {
        using PtyHost host = PtyHost.Create(_clock);
        var heard = new Recorder();
        host.Start(heard);
        host.Write("boot 1.0.0\r\n"u8, Limit);
        using ILink client = Opener.Create(_clock).Open(new PtyLinkSpec(host.Path));
        var answer = new Recorder();
        client.Start(answer);
        Assert.That(answer.WaitForBytes(12), Is.EqualTo("boot 1.0.0\r\n"u8.ToArray()));
        client.Write([0x03, 0x04, 0x0D, 0x0A, 0x11, 0x13, 0x7F, 0xFF, 0x00], Limit);
        // No byte is a control character here, in either direction, and none came back as an echo before these.
        Assert.That(heard.WaitForBytes(9), Is.EqualTo([0x03, 0x04, 0x0D, 0x0A, 0x11, 0x13, 0x7F, 0xFF, 0x00]));
    }

    [Test]
    public void Nobody_listening_makes_a_write_wait_no_longer_than_its_limit()
    {
        using PtyHost host = PtyHost.Create(_clock);
        var failure = Assert.Throws<LinkException>(() => host.Write(new byte[1_000_000], TimeSpan.FromMilliseconds(50)))!;
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.WriteTimeout));
    }

    [Test]
    public void Vanishing_ends_the_host_and_its_path()
    {
        PtyHost host = PtyHost.Create(_clock);
        host.Start(new Recorder());
        Within.Seconds(1, "Vanish", host.Vanish);
        Assert.That(File.Exists(host.Path), Is.False);
        Assert.That(Assert.Throws<LinkException>(() => host.Write([1], Limit))!.Fault, Is.EqualTo(LinkFault.Lost));
    }

    [Test]
    public void An_independent_serial_library_talks_to_it_at_both_ends_of_the_byte_range()
    {
        using PtyHost host = PtyHost.Create(_clock);
        host.Start(new Echo(host));
        // pyserial: read() with a timeout returns fewer bytes when they do not come.
        string said = Child.Python("""
            import serial, sys
            port = serial.Serial(sys.argv[1], 115200, timeout=5, exclusive=True)
            sent = bytes(range(256)) * 40
            got = bytearray()
            for i in range(0, len(sent), 160):
                port.write(sent[i:i + 160])
                got += port.read(160)
            print(got == sent, len(got))
            """, host.Path);
        Assert.That(said.Trim(), Is.EqualTo("True 10240"));
    }

    private sealed class Echo(ILink link) : ILinkReceiver
    {
        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival) => link.Write(bytes, Limit);
        public void OnLost(LinkException cause, HostTime at) { }
    }
}
