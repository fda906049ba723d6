using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;

namespace HilRunner.Emulated.Tests.Bench;

/// <param name="Read">When the read that held its first byte returned.</param>
/// <param name="Written">When its last byte had been written on.</param>
internal readonly record struct PassedOn(HostTime Read, HostTime Written, string Text);

/// <summary>Between a host in another process and an emulated device: passes bytes on at once and stamps the lines of both directions.</summary>
internal sealed class TcpProxy : IDisposable
{
    private readonly Emulator _device;
    private readonly TcpHost _host;
    private readonly Pump _toDevice;
    private readonly Pump _fromDevice;

    public TcpProxy(string image)
    {
        _device = new(image);
        _host = TcpHost.Listen(Emulator.Clock, 0);
        _toDevice = new(_device.Link);
        _fromDevice = new(_host);
        _host.Start(_toDevice);
        _device.Link.Start(_fromDevice);
    }

    public string Url => FormattableString.Invariant($"tcp://127.0.0.1:{_host.Port}");

    public PassedOn[] ToDevice => _toDevice.Lines;

    public PassedOn[] FromDevice => _fromDevice.Lines;

    public void Dispose()
    {
        _host.Dispose();
        _device.Dispose();
    }

    private sealed class Pump(ILink to) : ILinkReceiver
    {
        private readonly Lock _gate = new();
        private readonly List<PassedOn> _lines = [];
        private readonly StringBuilder _open = new();
        private HostTime _openSince;

        public PassedOn[] Lines { get { lock (_gate) { return [.. _lines]; } } }

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            try { to.Write(bytes, LineTalk.Limit); }
            catch (LinkException over)
            {
                // The host left; the device may still be speaking.
                _ = over;
            }
            HostTime written = Emulator.Clock.Now;
            lock (_gate)
            {
                foreach (byte b in bytes)
                {
                    if (_open.Length == 0) { _openSince = arrival; }
                    if (b != (byte)'\n')
                    {
                        _open.Append((char)b);
                        continue;
                    }
                    _lines.Add(new(_openSince, written, _open.ToString()));
                    _open.Clear();
                }
            }
        }

        public void OnLost(LinkException cause, HostTime at)
        {
        }
    }
}
