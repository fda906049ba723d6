using System.Globalization;
using System.Net;
using System.Net.Sockets;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>A TCP connection to a device or a port server. Small messages leave at once (no Nagle delay).</summary>
public sealed class TcpLink : ILink
{
    private static readonly TimeSpan ConnectLimit = TimeSpan.FromSeconds(5);
    private readonly DescriptorLink _link;

    private TcpLink(DescriptorLink link) => _link = link;

    public string Name => _link.Name;

    /// <exception cref="LinkException">Missing: no such host, nobody listens there, or no answer within 5 s for each of its addresses.</exception>
    public static TcpLink Connect(HostClock clock, string host, int port)
    {
        string name = string.Create(CultureInfo.InvariantCulture, $"tcp:{host}:{port}");
        PosixOnly.Check(name);
        try
        {
            SocketError error = SocketError.HostNotFound;
            foreach (IPAddress address in Dns.GetHostAddresses(host))
            {
                (Socket socket, error) = Connect(address, port);
                if (error == SocketError.Success) { return new(new DescriptorLink(name, clock, OwnDescriptor(socket))); }
                socket.Dispose();
            }
            throw Unreachable(name, error, null);
        }
        catch (SocketException e) { throw Unreachable(name, e.SocketErrorCode, e); }
    }

    public void Start(ILinkReceiver receiver) => _link.Start(receiver);

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit) => _link.Write(bytes, limit);

    public void Dispose() => _link.Dispose();

    /// <summary>The socket's number as a non-blocking descriptor that owns the socket.</summary>
    internal static Descriptor OwnDescriptor(Socket socket)
    {
        var descriptor = new Descriptor((int)socket.Handle, socket);
        descriptor.MakeNonBlocking();
        return descriptor;
    }

    /// <summary>By a non-blocking connect and a poll: an asynchronous one would leave the socket registered with the runtime's event loop.</summary>
    private static (Socket Socket, SocketError Error) Connect(IPAddress address, int port)
    {
        var socket = new Socket(address.AddressFamily, SocketType.Stream, ProtocolType.Tcp) { NoDelay = true, Blocking = false };
        try
        {
            socket.Connect(address, port);
            return (socket, SocketError.Success);
        }
        catch (SocketException e) when (e.SocketErrorCode is SocketError.WouldBlock or SocketError.InProgress)
        {
            if (!socket.Poll(ConnectLimit, SelectMode.SelectWrite)) { return (socket, SocketError.TimedOut); }
            int error = (int)socket.GetSocketOption(SocketOptionLevel.Socket, SocketOptionName.Error)!;
            return (socket, (SocketError)error);
        }
        catch (SocketException e) { return (socket, e.SocketErrorCode); }
    }

    private static LinkException Unreachable(string name, SocketError error, Exception? inner)
    {
        string why = error switch
        {
            SocketError.ConnectionRefused => "nobody listens there",
            SocketError.HostNotFound or SocketError.NoData or SocketError.TryAgain => "no such host",
            SocketError.HostUnreachable or SocketError.NetworkUnreachable => "no way to that host",
            SocketError.TimedOut => "no answer within 5 s",
            _ => error.ToString(),
        };
        return new(LinkFault.Missing, $"{name} cannot be reached: {why}; see that the device or port server runs and listens on this port", inner);
    }
}
