namespace HilRunner.Core.Files.Below;

/// <summary>What stands under a name in a folder, links not followed.</summary>
internal enum EntryKind { Absent, File, Folder, Link, Fifo, Socket, Device }
